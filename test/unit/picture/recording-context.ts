import { createCanvas } from '@napi-rs/canvas'
import { loadPictureFonts } from '../../../electron/report/node-picture.ts'
import type { PictureContext, PixelImage } from '../../../workers/picture/context.ts'
import type { Box } from '../../../workers/picture/pen.ts'

/** A drawn text with the box that its letters take, in CSS pixels. */
export interface DrawnText extends Box {
  readonly text: string
  readonly size: number
  readonly colour: string
}

/** A stroked or filled path, in CSS pixels. */
export interface DrawnPath {
  readonly kind: 'stroke' | 'fill'
  readonly colour: string
  readonly lineWidth: number
  readonly dash: readonly number[]
  readonly dashOffset: number
  readonly points: readonly (readonly [number, number])[]
  readonly clip: Box | null
}

export interface DrawnImage extends Box {
  readonly pixels: Uint8ClampedArray
}

/** Letters of DejaVu Sans reach this far above and below the baseline, as shares of the size. */
const ABOVE = 0.76
const BELOW = 0.24

/** Remembers what is drawn, in CSS pixels whatever the scale; texts are measured with the real fonts. */
export class RecordingContext implements PictureContext {
  readonly texts: DrawnText[] = []
  readonly paths: DrawnPath[] = []
  readonly images: DrawnImage[] = []
  readonly rectangles: (Box & { readonly colour: string; readonly kind: 'stroke' | 'fill' })[] = []
  fillStyle: string | object = ''
  strokeStyle: string | object = ''
  lineWidth = 1
  lineJoin: PictureContext['lineJoin'] = 'miter'
  lineCap: PictureContext['lineCap'] = 'butt'
  lineDashOffset = 0
  globalAlpha = 1
  font = ''
  textAlign: PictureContext['textAlign'] = 'start'
  textBaseline: PictureContext['textBaseline'] = 'alphabetic'
  #dash: number[] = []
  #scale = 1
  #clip: Box | null = null
  #points: [number, number][] = []
  #rect: Box | null = null
  readonly #saved: { scale: number; clip: Box | null }[] = []
  readonly #real

  constructor() {
    loadPictureFonts()
    this.#real = createCanvas(1, 1).getContext('2d')
  }

  get depth(): number {
    return this.#saved.length
  }

  save(): void {
    this.#saved.push({ scale: this.#scale, clip: this.#clip })
  }
  restore(): void {
    const state = this.#saved.pop()
    if (state === undefined) throw new Error('restored more often than saved')
    this.#scale = state.scale
    this.#clip = state.clip
  }
  scale(x: number, y: number): void {
    if (x !== y) throw new Error('uneven scale')
    this.#scale *= x
  }
  beginPath(): void {
    this.#points = []
    this.#rect = null
  }
  closePath(): void {}
  moveTo(x: number, y: number): void {
    this.#points.push([x, y])
  }
  lineTo(x: number, y: number): void {
    this.#points.push([x, y])
  }
  rect(x: number, y: number, width: number, height: number): void {
    this.#rect = { x, y, width, height }
  }
  arc(x: number, y: number): void {
    this.#points.push([x, y])
  }
  clip(): void {
    this.#clip = this.#rect
  }
  fill(): void {
    this.#path('fill', this.fillStyle)
  }
  stroke(): void {
    this.#path('stroke', this.strokeStyle)
  }
  #path(kind: DrawnPath['kind'], style: string | object): void {
    this.paths.push({
      kind,
      colour: String(style),
      lineWidth: this.lineWidth,
      dash: [...this.#dash],
      dashOffset: this.lineDashOffset,
      points: this.#points,
      clip: this.#clip,
    })
  }
  fillRect(x: number, y: number, width: number, height: number): void {
    this.rectangles.push({ x, y, width, height, colour: String(this.fillStyle), kind: 'fill' })
  }
  strokeRect(x: number, y: number, width: number, height: number): void {
    this.rectangles.push({ x, y, width, height, colour: String(this.strokeStyle), kind: 'stroke' })
  }
  setLineDash(segments: number[]): void {
    this.#dash = [...segments]
  }
  measureText(text: string): { readonly width: number } {
    this.#real.font = this.font
    return this.#real.measureText(text)
  }
  fillText(text: string, x: number, y: number): void {
    const size = Number(/([\d.]+)px/.exec(this.font)?.[1])
    const { width } = this.measureText(text)
    const left = this.textAlign === 'right' ? x - width : this.textAlign === 'center' ? x - width / 2 : x
    const box = { x: left, y: y - ABOVE * size, width, height: (ABOVE + BELOW) * size }
    this.texts.push({ text, size, colour: String(this.fillStyle), ...box })
  }
  createImageData(width: number, height: number): PixelImage & { data: Uint8ClampedArray } {
    return { width, height, data: new Uint8ClampedArray(width * height * 4) }
  }
  putImageData(image: PixelImage, x: number, y: number): void {
    this.images.push({
      x: x / this.#scale,
      y: y / this.#scale,
      width: image.width / this.#scale,
      height: image.height / this.#scale,
      pixels: image.data as Uint8ClampedArray,
    })
  }
}

/** True when the boxes share more than a sliver. */
export function overlaps(one: Box, other: Box, sliver = 0.75): boolean {
  const across = Math.min(one.x + one.width, other.x + other.width) - Math.max(one.x, other.x)
  const down = Math.min(one.y + one.height, other.y + other.height) - Math.max(one.y, other.y)
  return across > sliver && down > sliver
}
