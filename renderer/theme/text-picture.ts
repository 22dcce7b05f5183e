/** A short text as a picture, in the screen's pixels. */
export interface TextPicture {
  readonly image: ImageBitmap
  /** From the picture's top to the line that the letters stand on. */
  readonly baseline: number
}

let family = ''

/** The window's typeface, which canvases have to be told. */
export const bodyFont = (): string => (family ||= getComputedStyle(document.body).fontFamily)

/** A text of a look, in pixels: `600 11px sans-serif`. */
export interface TextLook {
  readonly font: string
  readonly colour: string
}

/** Few texts in few looks are written again and again; past this many, all are forgotten. */
const MOST = 400
const known = new Map<string, TextPicture>()

/**
 * A text's picture, made once: writing costs a canvas many times what a picture costs, and where the view moves the
 * same few names are written at every frame.
 */
export function textPicture(text: string, look: TextLook): TextPicture {
  const key = `${look.font} ${look.colour} ${text}`
  const found = known.get(key)
  if (found) return found
  if (known.size >= MOST) {
    for (const { image } of known.values()) image.close()
    known.clear()
  }
  const canvas = new OffscreenCanvas(1, 1)
  const context = canvas.getContext('2d', { willReadFrequently: true })!
  context.font = look.font
  const measured = context.measureText(text)
  const baseline = Math.ceil(measured.fontBoundingBoxAscent)
  canvas.width = Math.max(1, Math.ceil(measured.width))
  canvas.height = Math.max(1, baseline + Math.ceil(measured.fontBoundingBoxDescent))
  // A canvas of another size has forgotten its font.
  context.font = look.font
  context.fillStyle = look.colour
  context.fillText(text, 0, baseline)
  const made = { image: canvas.transferToImageBitmap(), baseline }
  known.set(key, made)
  return made
}
