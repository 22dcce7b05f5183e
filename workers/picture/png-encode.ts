import type { PixelImage } from './context.ts'
import { PNG_SIGNATURE, pngChunk } from './png-text.ts'

/** An image whose pixels can be read. */
export interface RgbaImage extends PixelImage {
  readonly data: Uint8ClampedArray<ArrayBuffer>
}

/**
 * Opaque pixels as PNG bytes (8 bits, RGB; alpha is dropped), for images inside SVG files. Canvases encode
 * whole pictures better and faster; this needs none.
 * Errors: RangeError when the data are not width x height x 4.
 */
export async function encodePng(image: RgbaImage): Promise<Uint8Array<ArrayBuffer>> {
  const { width, height, data } = image
  if (data.length !== width * height * 4 || data.length === 0) {
    throw new RangeError(`pixels are not ${width} x ${height} x 4: ${data.length}`)
  }
  const header = new Uint8Array(13)
  const view = new DataView(header.buffer)
  view.setUint32(0, width)
  view.setUint32(4, height)
  // Bit depth 8, colour type 2 (RGB), compression, filter method and interlace 0.
  header.set([8, 2, 0, 0, 0], 8)
  const lines = new Uint8Array(height * (1 + width * 3))
  let to = 0
  for (let y = 0; y < height; y++) {
    lines[to++] = 0
    for (let from = y * width * 4; from < (y + 1) * width * 4; from += 4) {
      lines[to++] = data[from] as number
      lines[to++] = data[from + 1] as number
      lines[to++] = data[from + 2] as number
    }
  }
  const chunks = [
    Uint8Array.from(PNG_SIGNATURE),
    pngChunk('IHDR', header),
    pngChunk('IDAT', await zlib(lines)),
    pngChunk('IEND', new Uint8Array(0)),
  ]
  return new Uint8Array(await new Blob(chunks).arrayBuffer())
}

/** The zlib format, which the Compression Streams standard calls 'deflate'. */
async function zlib(bytes: Uint8Array<ArrayBuffer>): Promise<Uint8Array<ArrayBuffer>> {
  const stream = new Blob([bytes]).stream().pipeThrough(new CompressionStream('deflate'))
  return new Uint8Array(await new Response(stream).arrayBuffer())
}
