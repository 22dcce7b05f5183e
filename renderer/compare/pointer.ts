import type { Attachment } from 'svelte/attachments'
import { paintedWidth } from './backdrop-places.ts'
import type { Comparison } from './comparison.svelte.ts'
import { perFrame } from './per-frame.ts'
import { nearestEdge, SNAP_PX } from './steps.ts'
import { zoomPart, type Part, type Span } from './view.svelte.ts'

/** A turn of the wheel by one notch shows this much more or less; pinching on a touch pad sends small turns. */
const WHEEL_STEP = 1.18
const PINCH_STEP = 2.6
/** A drag shorter than this is a click. */
const CLICK_PX = 3
/** A box this flat chooses time alone, one this narrow value alone. */
const FLAT_PX = 14

/** A part that is being chosen by dragging with Shift, as shares of the pane from its left and from its bottom. */
export interface Box {
  readonly left: number
  readonly right: number
  readonly bottom: number
  readonly top: number
}

/** What stands upright in a pane: a row's scale, or the frequency axis. */
export interface Upright {
  /** The part of the axis that is shown. */
  readonly part: () => Part
  /** Of one gesture all changes are one step of the history. */
  readonly show: (part: Part, gesture?: object) => void
}

/** The upright axis of a row of traces. */
export const valuesAxis = (comparison: Comparison, row: string): Upright => ({
  part: () => comparison.view.valuesOf(row),
  show: (part, gesture) => comparison.view.showValues(row, part, performance.now(), gesture),
})
/** The upright axis of all spectrograms. */
export const frequencyAxis = (comparison: Comparison): Upright => ({
  part: () => comparison.view.frequencies,
  show: (part, gesture) => comparison.view.showFrequencies(part, performance.now(), gesture),
})

interface Drag {
  readonly kind: 'pan' | 'box' | 'move-b'
  readonly x: number
  readonly y: number
  readonly span: Span
  readonly part: Part
  readonly offset_s: number
  moved: boolean
}

/**
 * What the pointer does in any pane of the common clock. Moving shows the cursor in all panes (snapped to manoeuvres
 * nearby); the wheel zooms at the pointer, sideways or with Shift it pans, with Alt it zooms the upright axis; a drag
 * pans, with Shift it chooses a part of time and value, with Alt it moves B against A; two fingers, or a pinch on
 * a touch pad, zoom; a double click shows the whole. Everything acts once a frame.
 */
export function timePane(
  comparison: Comparison,
  upright: Upright | null,
  showBox: (box: Box | null) => void,
): Attachment<HTMLElement> {
  return (pane) => {
    const { view } = comparison
    const stop = new AbortController()
    let drag: Drag | null = null
    let turned: { factor: number; upright: number; pan: number; x: number; y: number } | null = null
    const fingers = new Map<number, { x: number; y: number }>()

    const boxOf = () => pane.getBoundingClientRect()
    const timeAt = (share: number, { t0_s, t1_s }: Span = view.span) => t0_s + share * (t1_s - t0_s)
    const shareOf = (x: number, { left, width } = boxOf()) => Math.min(1, Math.max(0, (x - left) / width))
    const heightOf = (y: number, { bottom, height } = boxOf()) =>
      Math.min(1, Math.max(0, (bottom - y) / height))

    const turn = perFrame<null>(() => {
      if (!turned) return
      const { factor, upright: value, pan, x, y } = turned
      turned = null
      if (pan !== 0) view.pan(pan)
      if (factor !== 1) view.zoom(factor, timeAt(shareOf(x)))
      if (value !== 1 && upright) upright.show(zoomPart(upright.part(), value, heightOf(y)))
    })
    const wheel = (event: WheelEvent) => {
      event.preventDefault()
      const unit = event.deltaMode === WheelEvent.DOM_DELTA_LINE ? 33 : 1
      turned ??= { factor: 1, upright: 1, pan: 0, x: 0, y: 0 }
      turned.x = event.clientX
      turned.y = event.clientY
      const sideways = Math.abs(event.deltaX) > Math.abs(event.deltaY)
      // A held Alt or Shift turns the wheel sideways on some systems.
      const delta = (event.deltaY || event.deltaX) * unit
      if (event.altKey) turned.upright *= WHEEL_STEP ** (delta / 100)
      else if (event.shiftKey || sideways)
        turned.pan += ((event.deltaX || event.deltaY) * unit) / paintedWidth(boxOf(), devicePixelRatio)
      else turned.factor *= (event.ctrlKey ? PINCH_STEP : WHEEL_STEP) ** (delta / 100)
      turn(null)
    }

    const point = (event: PointerEvent) => {
      const { t0_s, t1_s } = view.span
      const box = boxOf()
      const t_s = timeAt(shareOf(event.clientX, box))
      const reach_s = (SNAP_PX / box.width) * (t1_s - t0_s)
      const edge = comparison.snap && !drag ? nearestEdge(comparison.edges, t_s, reach_s) : null
      comparison.cursor_s = edge?.t_s ?? t_s
      comparison.snappedTo = edge?.words ?? ''
    }
    const follow = perFrame<PointerEvent>((event) => {
      if (fingers.size > 1) return
      if (drag) pull(drag, event)
      point(event)
    })
    const pull = (from: Drag, event: PointerEvent) => {
      const [dx, dy] = [event.clientX - from.x, event.clientY - from.y]
      from.moved ||= Math.hypot(dx, dy) > CLICK_PX
      if (!from.moved) return
      // A pixel of the drag is a pixel of the picture: what is painted follows the pointer, moved and not made anew.
      const width = paintedWidth(boxOf(), devicePixelRatio)
      const by_s = (dx / width) * (from.span.t1_s - from.span.t0_s)
      if (from.kind === 'move-b') comparison.setOffset(from.offset_s + by_s, 'hand', from)
      else if (from.kind === 'box') showBox(chosen(from, event))
      else {
        view.show({ t0_s: from.span.t0_s - by_s, t1_s: from.span.t1_s - by_s }, performance.now(), from)
        const length = from.part.to - from.part.from
        const by = (dy / pane.clientHeight) * length
        if (upright && length < 1) upright.show({ from: from.part.from + by, to: from.part.to + by }, from)
      }
    }
    const chosen = (from: Drag, event: PointerEvent): Box => {
      const box = boxOf()
      const [x0, x1] = [shareOf(from.x, box), shareOf(event.clientX, box)]
      const [y0, y1] = [heightOf(from.y, box), heightOf(event.clientY, box)]
      const flat = !upright || Math.abs(event.clientY - from.y) < FLAT_PX
      const narrow = !flat && Math.abs(event.clientX - from.x) < FLAT_PX
      return {
        left: narrow ? 0 : Math.min(x0, x1),
        right: narrow ? 1 : Math.max(x0, x1),
        bottom: flat ? 0 : Math.min(y0, y1),
        top: flat ? 1 : Math.max(y0, y1),
      }
    }

    /** Two fingers: what lay between them stays there. */
    const pinch = perFrame<{ before: readonly number[]; after: readonly number[] }>(({ before, after }) => {
      const [b0 = 0, b1 = 1] = before
      const [a0 = 0, a1 = 1] = after
      const { width, left } = boxOf()
      const perPixel_s = (view.span.t1_s - view.span.t0_s) / width
      const factor = Math.max(8, Math.abs(b1 - b0)) / Math.max(8, Math.abs(a1 - a0))
      const held_s = view.span.t0_s + ((b0 + b1) / 2 - left) * perPixel_s
      const t0_s = held_s - ((a0 + a1) / 2 - left) * perPixel_s * factor
      const t1_s = t0_s + (view.span.t1_s - view.span.t0_s) * factor
      view.show({ t0_s, t1_s }, performance.now(), pinching)
      pinchFrom = after
    })
    let pinchFrom: readonly number[] = []
    /** Which pinch it is: all of it is one step of the history. */
    let pinching = {}
    const fingersAcross = () => [...fingers.values()].slice(0, 2).map(({ x }) => x)

    const down = (event: PointerEvent) => {
      if (event.button !== 0) return
      pane.setPointerCapture(event.pointerId)
      fingers.set(event.pointerId, { x: event.clientX, y: event.clientY })
      if (fingers.size > 1) {
        drag = null
        showBox(null)
        pinchFrom = fingersAcross()
        pinching = {}
        return
      }
      const kind = event.altKey ? 'move-b' : event.shiftKey ? 'box' : 'pan'
      drag = {
        kind,
        x: event.clientX,
        y: event.clientY,
        span: view.span,
        part: upright?.part() ?? { from: 0, to: 1 },
        offset_s: comparison.offset_s,
        moved: false,
      }
    }
    const move = (event: PointerEvent) => {
      if (fingers.has(event.pointerId)) fingers.set(event.pointerId, { x: event.clientX, y: event.clientY })
      if (fingers.size > 1) pinch({ before: pinchFrom, after: fingersAcross() })
      else follow(event)
    }
    const up = (event: PointerEvent) => {
      follow.flush()
      fingers.delete(event.pointerId)
      if (drag?.kind === 'box' && drag.moved) zoomTo(chosen(drag, event))
      drag = null
      showBox(null)
    }
    const zoomTo = ({ left, right, bottom, top }: Box) => {
      const { from, to } = upright?.part() ?? { from: 0, to: 1 }
      if (left > 0 || right < 1) view.show({ t0_s: timeAt(left), t1_s: timeAt(right) })
      if (bottom > 0 || top < 1) {
        upright?.show({ from: from + bottom * (to - from), to: from + top * (to - from) })
      }
    }
    const leave = () => {
      if (drag) return
      follow.drop()
      comparison.cursor_s = null
      comparison.snappedTo = ''
    }

    const { signal } = stop
    pane.addEventListener('wheel', wheel, { passive: false, signal })
    pane.addEventListener('pointerdown', down, { signal })
    pane.addEventListener('pointermove', move, { signal })
    pane.addEventListener('pointerup', up, { signal })
    pane.addEventListener('pointercancel', up, { signal })
    pane.addEventListener('pointerleave', leave, { signal })
    pane.addEventListener('dblclick', () => view.showWhole(), { signal })
    return () => {
      stop.abort()
      turn.drop()
      follow.drop()
      pinch.drop()
    }
  }
}
