import type { PictureContext } from './context.ts'
import { base64 } from '../text/base64.ts'
import { encodePng, type RgbaImage } from './png-encode.ts'
import { plainLine } from './text.ts'

/** What text is measured with: any canvas context with the picture's fonts loaded. */
export type TextMeasure = Pick<PictureContext, 'font' | 'measureText'>

interface State {
  fillStyle: string | object
  strokeStyle: string | object
  lineWidth: number
  lineJoin: PictureContext['lineJoin']
  lineCap: PictureContext['lineCap']
  lineDashOffset: number
  globalAlpha: number
  font: string
  textAlign: PictureContext['textAlign']
  textBaseline: PictureContext['textBaseline']
  dash: readonly number[]
  scale: number
  /** Groups opened since the state was saved. */
  groups: number
}

const FRESH: State = {
  fillStyle: '#000000',
  strokeStyle: '#000000',
  lineWidth: 1,
  lineJoin: 'miter',
  lineCap: 'butt',
  lineDashOffset: 0,
  globalAlpha: 1,
  font: '10px sans-serif',
  textAlign: 'start',
  textBaseline: 'alphabetic',
  dash: [],
  scale: 1,
  groups: 0,
}

/**
 * Writes the picture's drawing calls as SVG: curves and text stay curves and text. Only what the picture
 * uses is there: even scaling, solid colours, text on the alphabetic baseline; anything else throws.
 * All text goes through one escape; no attribute is ever built from a text of the model's.
 */
export class SvgContext implements PictureContext {
  // The current state lies in these fields, as on a canvas.
  fillStyle: string | object = FRESH.fillStyle
  strokeStyle: string | object = FRESH.strokeStyle
  lineWidth = FRESH.lineWidth
  lineJoin = FRESH.lineJoin
  lineCap = FRESH.lineCap
  lineDashOffset = FRESH.lineDashOffset
  globalAlpha = FRESH.globalAlpha
  font = FRESH.font
  textAlign = FRESH.textAlign
  textBaseline = FRESH.textBaseline
  #dash: readonly number[] = []
  #scale = 1
  #groups = 0
  readonly #saved: State[] = []
  readonly #measure: TextMeasure
  readonly #parts: (string | RgbaImage)[] = []
  #path: string[] = []
  #clips = 0

  constructor(measure: TextMeasure) {
    this.#measure = measure
  }

  save(): void {
    const { fillStyle, strokeStyle, lineWidth, lineJoin, lineCap, lineDashOffset } = this
    const { globalAlpha, font, textAlign, textBaseline } = this
    const drawing = { fillStyle, strokeStyle, lineWidth, lineJoin, lineCap, lineDashOffset }
    const text = { globalAlpha, font, textAlign, textBaseline }
    this.#saved.push({ ...drawing, ...text, dash: this.#dash, scale: this.#scale, groups: this.#groups })
    this.#groups = 0
  }

  restore(): void {
    const state = this.#saved.pop()
    if (state === undefined) return
    this.#parts.push('</g>'.repeat(this.#groups))
    const { dash, scale, groups, ...fields } = state
    Object.assign(this, fields)
    this.#dash = dash
    this.#scale = scale
    this.#groups = groups
  }

  scale(x: number, y: number): void {
    if (x !== y) throw new Error(`only even scaling: ${x}, ${y}`)
    this.#scale *= x
    this.#open(`<g transform="scale(${short(x)})">`)
  }

  clip(): void {
    const id = `clip${++this.#clips}`
    this.#parts.push(`<clipPath id="${id}"><path d="${this.#path.join('')}"/></clipPath>`)
    this.#open(`<g clip-path="url(#${id})">`)
  }

  #open(tag: string): void {
    this.#parts.push(tag)
    this.#groups++
  }

  beginPath(): void {
    this.#path = []
  }

  closePath(): void {
    this.#path.push('Z')
  }

  moveTo(x: number, y: number): void {
    this.#path.push(`M${short(x)} ${short(y)}`)
  }

  lineTo(x: number, y: number): void {
    this.#path.push(`L${short(x)} ${short(y)}`)
  }

  rect(x: number, y: number, width: number, height: number): void {
    this.#path.push(`M${short(x)} ${short(y)}h${short(width)}v${short(height)}h${short(-width)}Z`)
  }

  arc(x: number, y: number, radius: number, startAngle: number, endAngle: number): void {
    if (Math.abs(endAngle - startAngle - 2 * Math.PI) > 1e-9) throw new Error('only whole circles')
    const r = short(radius)
    const half = `a${r} ${r} 0 1 1`
    this.#path.push(
      `M${short(x + radius)} ${short(y)}${half} ${short(-2 * radius)} 0${half} ${short(2 * radius)} 0`,
    )
  }

  fill(): void {
    this.#parts.push(`<path d="${this.#path.join('')}" ${this.#fillAttributes()}/>`)
  }

  stroke(): void {
    if (this.#path.length === 0) return
    this.#parts.push(`<path d="${this.#path.join('')}" ${this.#strokeAttributes()}/>`)
  }

  fillRect(x: number, y: number, width: number, height: number): void {
    this.#parts.push(`<rect ${box(x, y, width, height)} ${this.#fillAttributes()}/>`)
  }

  strokeRect(x: number, y: number, width: number, height: number): void {
    this.#parts.push(`<rect ${box(x, y, width, height)} ${this.#strokeAttributes()}/>`)
  }

  setLineDash(segments: number[]): void {
    this.#dash = [...segments]
  }

  measureText(text: string): { readonly width: number } {
    this.#measure.font = this.font
    return this.#measure.measureText(text)
  }

  fillText(text: string, x: number, y: number): void {
    const match = /^(bold )?([\d.]+)px "([^"<>&]+)", ([a-z-]+)$/.exec(this.font)
    if (match === null) throw new Error(`a font that can't be written: ${this.font}`)
    if (this.textBaseline !== 'alphabetic')
      throw new Error(`a baseline that can't be written: ${this.textBaseline}`)
    const [, bold, size, family, generic] = match
    const anchor = { left: 'start', start: 'start', center: 'middle', right: 'end', end: 'end' }[
      this.textAlign
    ]
    // The length keeps the layout where a viewer lacks the font.
    const length = this.measureText(text).width
    this.#parts.push(
      `<text x="${short(x)}" y="${short(y)}" font-family="'${family}', ${generic}" font-size="${size}"` +
        (bold === undefined ? '' : ' font-weight="bold"') +
        ` text-anchor="${anchor}" textLength="${short(length)}" lengthAdjust="spacingAndGlyphs"` +
        ` xml:space="preserve" ${this.#fillAttributes()}>${escapeXml(text)}</text>`,
    )
  }

  createImageData(width: number, height: number): RgbaImage {
    return { width, height, data: new Uint8ClampedArray(width * height * 4) }
  }

  putImageData(image: RgbaImage, x: number, y: number): void {
    // Canvases put images in device pixels whatever the scale is.
    const unit = 1 / this.#scale
    const place = box(x * unit, y * unit, image.width * unit, image.height * unit)
    this.#parts.push(`<image ${place} preserveAspectRatio="none" href="data:image/png;base64,`, image, '"/>')
  }

  #fillAttributes(): string {
    return `fill="${colour(this.fillStyle)}"${this.#alpha()}`
  }

  #strokeAttributes(): string {
    const dash =
      this.#dash.length === 0
        ? ''
        : ` stroke-dasharray="${this.#dash.map(short).join(' ')}" stroke-dashoffset="${short(this.lineDashOffset)}"`
    return (
      `fill="none" stroke="${colour(this.strokeStyle)}" stroke-width="${short(this.lineWidth)}"` +
      ` stroke-linejoin="${this.lineJoin}" stroke-linecap="${this.lineCap}"${dash}${this.#alpha()}`
    )
  }

  #alpha(): string {
    return this.globalAlpha === 1 ? '' : ` opacity="${short(this.globalAlpha)}"`
  }

  /**
   * The whole file, once everything is drawn and every save restored. Sizes as of pictureSize; title and
   * description are read by screen readers.
   */
  async toSvg(
    size: { width_px: number; height_px: number; canvasWidth: number; canvasHeight: number },
    title: string,
    description: string,
  ): Promise<string> {
    if (this.#saved.length > 0) throw new Error(`${this.#saved.length} states were saved and not restored`)
    const body = await Promise.all(
      this.#parts.map(async (part) => (typeof part === 'string' ? part : base64(await encodePng(part)))),
    )
    return (
      '<?xml version="1.0" encoding="UTF-8"?>\n' +
      `<svg xmlns="http://www.w3.org/2000/svg" width="${size.width_px}" height="${size.height_px}"` +
      ` viewBox="0 0 ${size.canvasWidth} ${size.canvasHeight}" role="img" aria-labelledby="title description">\n` +
      `<title id="title">${escapeXml(plainLine(title))}</title>\n` +
      `<desc id="description">${escapeXml(description)}</desc>\n` +
      `${body.join('')}\n</svg>\n`
    )
  }
}

/** Two decimals: finer than any screen at the picture's sizes. */
function short(value: number): string {
  if (!Number.isFinite(value)) throw new Error(`not a place in a picture: ${value}`)
  return String(Math.round(value * 100) / 100)
}

function box(x: number, y: number, width: number, height: number): string {
  return `x="${short(x)}" y="${short(y)}" width="${short(width)}" height="${short(height)}"`
}

function colour(style: string | object): string {
  if (typeof style !== 'string' || !/^#[0-9a-f]{6}$/i.test(style))
    throw new Error(`not a solid colour: ${style}`)
  return style
}

/** Text for XML 1.0: markup becomes entities; letters that no XML file may hold become the replacement sign. */
export function escapeXml(text: string): string {
  const entities: Record<string, string> = {
    '&': '&amp;',
    '<': '&lt;',
    '>': '&gt;',
    '"': '&quot;',
    "'": '&#39;',
  }
  return text
    .toWellFormed()
    .replace(/[\u0000-\u0008\u000b\u000c\u000e-\u001f\ufffe\uffff]/g, '\ufffd')
    .replace(/[&<>"']/g, (letter) => entities[letter] as string)
}
