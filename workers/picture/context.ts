/**
 * The few canvas calls that the picture is made of: what CanvasRenderingContext2D, OffscreenCanvas'
 * context and a canvas for Node have in common, so that one drawing serves the window, its workers and the
 * report command. `svg-context.ts` writes the same calls as SVG.
 */
export interface PictureContext {
  fillStyle: string | object
  strokeStyle: string | object
  lineWidth: number
  lineJoin: 'bevel' | 'miter' | 'round'
  lineCap: 'butt' | 'round' | 'square'
  lineDashOffset: number
  globalAlpha: number
  font: string
  textAlign: 'center' | 'end' | 'left' | 'right' | 'start'
  textBaseline: 'alphabetic' | 'bottom' | 'hanging' | 'ideographic' | 'middle' | 'top'
  save(): void
  restore(): void
  scale(x: number, y: number): void
  beginPath(): void
  closePath(): void
  moveTo(x: number, y: number): void
  lineTo(x: number, y: number): void
  rect(x: number, y: number, width: number, height: number): void
  arc(x: number, y: number, radius: number, startAngle: number, endAngle: number): void
  clip(): void
  fill(): void
  stroke(): void
  fillRect(x: number, y: number, width: number, height: number): void
  strokeRect(x: number, y: number, width: number, height: number): void
  setLineDash(segments: number[]): void
  fillText(text: string, x: number, y: number): void
  measureText(text: string): { readonly width: number }
  /** In device pixels, as on every canvas: not scaled, not clipped. */
  createImageData(width: number, height: number): PixelImage
  putImageData(image: PixelImage, x: number, y: number): void
}

/** RGBA pixels from the top left, row after row. */
export interface PixelImage {
  readonly width: number
  readonly height: number
  readonly data: { set(values: ArrayLike<number>, offset?: number): void; readonly length: number }
}
