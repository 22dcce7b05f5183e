const QUOTE = 34
const CR = 13
const SPACE = 32

/** The position of the separator or line end after a cell; quotes protect both. */
export function endOfCell(
  bytes: Uint8Array,
  from: number,
  end: number,
  separator: number,
  newline: number,
): number {
  let at = from
  let quoted = false
  while (at < end && bytes[at] === SPACE && separator !== SPACE) at += 1
  if (bytes[at] === QUOTE) {
    quoted = true
    at += 1
  }
  for (; at < end; at += 1) {
    const byte = bytes[at]
    if (byte === QUOTE && quoted) {
      if (bytes[at + 1] === QUOTE) at += 1
      else quoted = false
    } else if (!quoted && (byte === separator || byte === newline)) return at
    else if (!quoted && byte === CR && bytes[at + 1] === newline) return at
  }
  return end
}

/** Bytes as text, one character a byte: numbers need no more, and it never fails. */
export function latin1(bytes: Uint8Array, from: number, to: number): string {
  let text = ''
  for (let at = from; at < to; at += 1) text += String.fromCharCode(bytes[at] as number)
  return text
}

/** How often a byte stands between two positions. */
export function countOf(bytes: Uint8Array, byte: number, from: number, to: number): number {
  let count = 0
  for (let at = from; at < to; at += 1) if (bytes[at] === byte) count += 1
  return count
}

/** Two stretches of bytes in one new one. */
export function concatenate(head: Uint8Array, tail: Uint8Array): Uint8Array<ArrayBuffer> {
  const joined = new Uint8Array(head.length + tail.length)
  joined.set(head)
  joined.set(tail, head.length)
  return joined
}
