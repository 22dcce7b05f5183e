/** Text kept inside PNG files, by the PNG specification (W3C, third edition): chunk type iTXt, UTF-8. */

export const PNG_SIGNATURE: readonly number[] = [137, 80, 78, 71, 13, 10, 26, 10]

/** The CRC of PNG's chunks: CRC-32 of ISO 3309 / ITU-T V.42, polynomial EDB88320 reflected (PNG annex D). */
export function crc32(bytes: Uint8Array): number {
  let crc = 0xffffffff
  for (const byte of bytes) crc = (CRC_TABLE[(crc ^ byte) & 0xff] as number) ^ (crc >>> 8)
  return (crc ^ 0xffffffff) >>> 0
}

const CRC_TABLE = Uint32Array.from({ length: 256 }, (_, index) => {
  let crc = index
  for (let bit = 0; bit < 8; bit++) crc = crc & 1 ? 0xedb88320 ^ (crc >>> 1) : crc >>> 1
  return crc >>> 0
})

/**
 * Adds one iTXt chunk per entry directly after the header chunk and returns new bytes. Keys are PNG keywords:
 * 1 to 79 printable Latin-1 letters, no space at either end or two together; 'Title', 'Description' and
 * 'Software' are registered ones. Values are any text; NUL letters, which the format can't hold, are dropped.
 * Entries with an empty value are left out.
 * Errors: Error when the bytes are no PNG; RangeError for a keyword that the format does not allow.
 */
export function addPngText(
  png: Uint8Array,
  entries: Readonly<Record<string, string>>,
): Uint8Array<ArrayBuffer> {
  const headerEnd = endOfHeader(png)
  const chunks = Object.entries(entries)
    .filter(([, value]) => value !== '')
    .map(([keyword, value]) => textChunk(keyword, value))
  const added = chunks.reduce((sum, chunk) => sum + chunk.length, 0)
  const result = new Uint8Array(png.length + added)
  result.set(png.subarray(0, headerEnd))
  let at = headerEnd
  for (const chunk of chunks) {
    result.set(chunk, at)
    at += chunk.length
  }
  result.set(png.subarray(headerEnd), at)
  return result
}

/**
 * Reads the uncompressed iTXt entries back. Errors: Error when the bytes are no PNG, end early, or a chunk's
 * CRC is wrong.
 */
export function readPngText(png: Uint8Array): Record<string, string> {
  endOfHeader(png)
  const found: Record<string, string> = {}
  const view = new DataView(png.buffer, png.byteOffset, png.byteLength)
  for (let at = 8; at < png.length;) {
    const length = at + 12 <= png.length ? view.getUint32(at) : Number.POSITIVE_INFINITY
    if (at + 12 + length > png.length) throw new Error(`the PNG ends within the chunk at byte ${at}`)
    const body = png.subarray(at + 4, at + 8 + length)
    if (crc32(body) !== view.getUint32(at + 8 + length))
      throw new Error(`wrong CRC in the chunk at byte ${at}`)
    if (latin1(body.subarray(0, 4)) === 'iTXt') {
      const data = body.subarray(4)
      const keywordEnd = data.indexOf(0)
      const languageEnd = data.indexOf(0, keywordEnd + 3)
      const textStart = data.indexOf(0, languageEnd + 1) + 1
      if (data[keywordEnd + 1] === 0) {
        found[latin1(data.subarray(0, keywordEnd))] = new TextDecoder().decode(data.subarray(textStart))
      }
    }
    at += 12 + length
  }
  return found
}

function endOfHeader(png: Uint8Array): number {
  // Signature 8, then IHDR: length 4, type 4, data 13, CRC 4.
  const isPng = png.length >= 33 && PNG_SIGNATURE.every((byte, index) => png[index] === byte)
  if (!isPng || latin1(png.subarray(12, 16)) !== 'IHDR') throw new Error(`not a PNG: ${png.length} bytes`)
  return 33
}

function textChunk(keyword: string, value: string): Uint8Array {
  if (!/^(?! )(?!.* {2})[\x20-\x7e\xa1-\xff]{1,79}(?<! )$/.test(keyword)) {
    throw new RangeError(`not a PNG keyword: ${keyword}`)
  }
  const text = new TextEncoder().encode(value.replaceAll('\0', ''))
  // keyword NUL, compression flag, compression method, language NUL, translated keyword NUL: five zeros.
  const body = new Uint8Array(keyword.length + 5 + text.length)
  body.set(bytesOfLatin1(keyword))
  body.set(text, keyword.length + 5)
  return pngChunk('iTXt', body)
}

/** One chunk: length, type (four ASCII letters), body, CRC of type and body. */
export function pngChunk(type: string, body: Uint8Array): Uint8Array<ArrayBuffer> {
  if (!/^[A-Za-z]{4}$/.test(type)) throw new RangeError(`not a chunk type: ${type}`)
  const chunk = new Uint8Array(12 + body.length)
  const view = new DataView(chunk.buffer)
  view.setUint32(0, body.length)
  chunk.set(bytesOfLatin1(type), 4)
  chunk.set(body, 8)
  view.setUint32(8 + body.length, crc32(chunk.subarray(4, 8 + body.length)))
  return chunk
}

function latin1(bytes: Uint8Array): string {
  return String.fromCharCode(...bytes)
}

function bytesOfLatin1(text: string): Uint8Array {
  return Uint8Array.from(text, (letter) => letter.charCodeAt(0))
}
