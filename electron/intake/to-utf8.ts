/** How a text's characters lie in its bytes. */
export type Encoding = 'utf-8' | 'utf-16le' | 'utf-16be'

/**
 * Tells the encoding from a text's first bytes: by its byte order mark, or by every second byte being zero, as in
 * 16-bit text of mostly plain letters. Single-byte texts count as UTF-8: their numbers are the same.
 */
export function encodingOf(start: Uint8Array): Encoding {
  if (start[0] === 0xff && start[1] === 0xfe) return 'utf-16le'
  if (start[0] === 0xfe && start[1] === 0xff) return 'utf-16be'
  const pairs = Math.floor(Math.min(start.byteLength, 512) / 2)
  if (pairs < 4) return 'utf-8'
  let even = 0
  let odd = 0
  for (let pair = 0; pair < pairs; pair += 1) {
    if (start[2 * pair] === 0) even += 1
    if (start[2 * pair + 1] === 0) odd += 1
  }
  if (odd > 0.9 * pairs && even === 0) return 'utf-16le'
  return even > 0.9 * pairs && odd === 0 ? 'utf-16be' : 'utf-8'
}

/**
 * Passes UTF-8 slices through as they are and brings 16-bit text to UTF-8 without its mark. A character that is cut
 * between two slices is put together.
 */
export async function* toUtf8(slices: AsyncIterable<Uint8Array>): AsyncGenerator<Uint8Array, void, void> {
  let decoder: TextDecoder | null = null
  let isFirst = true
  const encoder = new TextEncoder()
  for await (const slice of slices) {
    if (isFirst) {
      const encoding = encodingOf(slice)
      if (encoding !== 'utf-8') decoder = new TextDecoder(encoding)
      isFirst = false
    }
    yield decoder ? encoder.encode(decoder.decode(slice, { stream: true })) : slice
  }
  const rest = decoder?.decode() ?? ''
  if (rest !== '') yield encoder.encode(rest)
}
