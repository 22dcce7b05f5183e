import { Problem } from '../../workers/log/problems.ts'

/** Beginnings of files that people rename by mistake. */
const KINDS: readonly (readonly [string, readonly number[]])[] = [
  ['a picture (PNG)', [0x89, 0x50, 0x4e, 0x47]],
  ['a picture (JPEG)', [0xff, 0xd8, 0xff]],
  ['a picture (GIF)', [0x47, 0x49, 0x46, 0x38]],
  ['a PDF document', [0x25, 0x50, 0x44, 0x46]],
  ['a ZIP archive or a spreadsheet document', [0x50, 0x4b, 0x03, 0x04]],
  ['a program', [0x7f, 0x45, 0x4c, 0x46]],
  ['a Parquet table', [0x50, 0x41, 0x52, 0x31]],
  ['an Arrow table', [0x41, 0x52, 0x52, 0x4f, 0x57, 0x31]],
  ['a database', [0x53, 0x51, 0x4c, 0x69, 0x74, 0x65]],
]

/** Bytes of a byte order mark at the start of UTF-8 text: 3 or 0. */
export function markLength(head: Uint8Array): 0 | 3 {
  return head[0] === 0xef && head[1] === 0xbb && head[2] === 0xbf ? 3 : 0
}

/**
 * The beginning of a file as text, without its byte order mark.
 * @throws Problem not-text when the bytes are no text
 */
export function headText(head: Uint8Array, file: string): string {
  for (const [kind, magic] of KINDS) {
    if (magic.every((byte, index) => head[index] === byte)) {
      // Those are read by readers of their own, but not out of an archive, in which nobody can leaf.
      if (kind.endsWith(' table')) {
        throw new Problem('not-text', `${file} is ${kind} within an archive: unpack it first.`, { file })
      }
      throw new Problem('not-text', `${file} is ${kind}, not a log in text form.`, { file })
    }
  }
  let odd = 0
  const looked = Math.min(head.byteLength, 4096)
  for (let index = 0; index < looked; index += 1) {
    const byte = head[index] as number
    if (byte < 32 && byte !== 9 && byte !== 10 && byte !== 13) odd += 1
  }
  // A few stray bytes are damage in one place, which the reader reports by line; more is another kind of file.
  if (odd > looked / 50) throw new Problem('not-text', `${file} holds no text but binary data.`, { file })
  const text = head.subarray(markLength(head))
  try {
    return new TextDecoder('utf-8', { fatal: true }).decode(withoutCutCharacter(text))
  } catch (error) {
    // Not UTF-8: the single-byte text of older programs, in which a degree sign is one byte.
    if (error instanceof TypeError) return new TextDecoder('windows-1252').decode(text)
    throw error
  }
}

/** The look may end within a character of several bytes. */
function withoutCutCharacter(text: Uint8Array): Uint8Array {
  for (let back = 1; back <= Math.min(3, text.byteLength); back += 1) {
    const byte = text[text.byteLength - back] as number
    if (byte >= 0xc0) return text.subarray(0, text.byteLength - back)
    if (byte < 0x80) break
  }
  return text
}
