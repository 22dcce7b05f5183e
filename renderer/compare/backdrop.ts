import { createContext } from 'svelte'
import type { Attachment } from 'svelte/attachments'
import { inTurn } from '../work/in-turn.ts'
import { placesOf, type Extent, type Place } from './backdrop-places.ts'

interface Pane {
  readonly tell: (place: Place) => void
  readonly framed: boolean
  place: Place | null
}

/** Kept in plain memory: most pixels are made by the processor, a graphics card would only have to be fed them. */
const CONTEXT: CanvasRenderingContext2DSettings = { alpha: false, willReadFrequently: true }

/**
 * The one canvas that lies behind the panes of all rows. Canvases of the panes' own would each be a layer that the
 * browser puts together anew at every frame, with one more for what lies over it; together they are one.
 */
export class Backdrop {
  /** Asked of the canvas once: that alone costs more than a small picture. */
  #context: CanvasRenderingContext2D | null = null
  #scroller: HTMLElement | null = null
  #extent: Extent | null = null
  readonly #panes = new Map<HTMLElement, Pane>()
  readonly #sized = new ResizeObserver(() => this.#lay())
  #frame = 0
  #colours = { ground: '', frame: '' }

  /** Attached to the element that the rows are scrolled in. */
  readonly scrolled: Attachment<HTMLElement> = (scroller) => {
    this.#scroller = scroller
    // In the screen's pixels: a window that is moved to a finer screen keeps its size in all else.
    this.#sized.observe(scroller, { box: 'device-pixel-content-box' })
    const follow = () => this.#lay()
    scroller.addEventListener('scroll', follow)
    return () => {
      scroller.removeEventListener('scroll', follow)
      this.#sized.disconnect()
      cancelAnimationFrame(this.#frame)
      this.#scroller = null
    }
  }

  /** Attached to the canvas within the scroller; with the colours between the panes and of their frames. */
  canvas(colours: { readonly ground: string; readonly frame: string }): Attachment<HTMLCanvasElement> {
    return (canvas) => {
      this.#context = canvas.getContext('2d', CONTEXT)
      this.#colours = colours
      // Empty until it is laid out: in another theme all is painted anew.
      this.#extent = null
      this.moved()
      return () => (this.#context = null)
    }
  }

  /**
   * Attached to a pane: tells its place, at first and whenever it has to be painted there anew. A framed one has a line
   * around it.
   */
  pane(tell: (place: Place) => void, framed = false): Attachment<HTMLElement> {
    return (pane) => {
      this.#panes.set(pane, { tell, framed, place: null })
      // The observer tells of the size that the pane has now, too.
      this.#sized.observe(pane)
      return () => {
        this.#panes.delete(pane)
        inTurn.drop(pane)
        this.#sized.unobserve(pane)
        this.#extent = null
        this.moved()
      }
    }
  }

  /** To be called when rows change places, of which their sizes don't tell. */
  readonly moved = (): void => {
    this.#frame ||= requestAnimationFrame(() => {
      this.#frame = 0
      this.#lay()
    })
  }

  /**
   * Paints a pane: the context's origin is the pane's corner, and nothing is painted beyond its edges. Pixels put as
   * they are (`putImageData`) know no origin: their corner is the place's own.
   */
  paint(place: Place, painter: (context: CanvasRenderingContext2D) => void): void {
    const context = this.#context
    if (!context) return
    context.save()
    context.beginPath()
    context.rect(place.left, place.top, place.width, place.height)
    context.clip()
    context.translate(place.left, place.top)
    painter(context)
    context.restore()
  }

  /** Finds where every pane stands. When one moved the canvas is emptied, and all are told to paint. */
  #lay(): void {
    const [scroller, context] = [this.#scroller, this.#context]
    if (!scroller || !context || this.#panes.size === 0) return
    // Each row that is still to come, its place kept by what has that attribute, would move those that are there: all would be painted once for each.
    if (scroller.querySelector('[data-coming]')) return
    const { canvas } = context
    const ratio = window.devicePixelRatio
    const { left, top, right, bottom } = scroller.getBoundingClientRect()
    const frame = { left, top, right, bottom, scrollTop: scroller.scrollTop }
    const panes = [...this.#panes.entries()]
    const edges = panes.map(([pane]) => pane.getBoundingClientRect())
    const { extent, places } = placesOf(frame, edges, ratio, this.#extent)
    const same =
      sameValues(extent, this.#extent) &&
      panes.every(([, { place }], index) => sameValues(places[index]!, place))
    if (same) return
    this.#extent = extent
    Object.assign(canvas.style, {
      left: `${extent.left / ratio}px`,
      top: `${extent.top / ratio}px`,
      width: `${extent.width / ratio}px`,
      height: `${extent.height / ratio}px`,
    })
    if (canvas.width !== extent.width) canvas.width = extent.width
    if (canvas.height !== extent.height) canvas.height = extent.height
    const fill = (colour: string, { left, top, width, height }: Extent, beyond = 0) => {
      context.fillStyle = colour
      context.fillRect(left - beyond, top - beyond, width + 2 * beyond, height + 2 * beyond)
    }
    fill(this.#colours.ground, { ...extent, left: 0, top: 0 })
    panes.forEach(([element, pane], index) => {
      const first = pane.place === null
      const place = (pane.place = places[index]!)
      if (pane.framed) fill(this.#colours.frame, place, Math.round(ratio))
      // At first all panes come at once, and each is painted in a task of its own.
      if (first) {
        fill(this.#colours.ground, place)
        inTurn.ask(element, () => pane.place && pane.tell(pane.place))
      } else pane.tell(place)
    })
  }
}

function sameValues<Shape extends object>(one: Shape, other: Shape | null): boolean {
  if (!other) return false
  return (Object.keys(one) as (keyof Shape)[]).every((key) => one[key] === other[key])
}

export const [backdropOf, giveBackdrop] = createContext<Backdrop>()
