/**
 * Unpacks LZ4 frames, in which Arrow packs its buffers. By the format's own description (LZ4 Frame Format 1.6 and
 * LZ4 Block Format, in the documentation of the lz4 library). Checksums are not checked.
 * @throws Error for bytes that are no such frame, or a damaged one
 */
export function unpackLz4Frame(frame: Uint8Array): Uint8Array {
  const view = new DataView(frame.buffer, frame.byteOffset, frame.byteLength)
  if (frame.byteLength < 7 || view.getUint32(0, true) !== 0x184d2204) throw new Error('no LZ4 frame')
  const flags = frame[4] as number
  if (flags >> 6 !== 1) throw new Error(`LZ4 frame of version ${flags >> 6}`)
  const hasBlockSums = (flags & 0x10) !== 0
  const hasSize = (flags & 0x08) !== 0
  let from = 6 + (hasSize ? 8 : 0) + ((flags & 0x01) !== 0 ? 4 : 0) + 1
  const output = new Output(
    hasSize ? Number(view.getBigUint64(6, true)) : 4 * frame.byteLength,
    frame.byteLength,
  )
  for (;;) {
    if (from + 4 > frame.byteLength) throw new Error('LZ4 frame that is cut off')
    const head = view.getUint32(from, true)
    from += 4
    if (head === 0) return output.bytes.subarray(0, output.length)
    const size = head & 0x7fffffff
    if (from + size > frame.byteLength) throw new Error('LZ4 frame that is cut off')
    const block = frame.subarray(from, from + size)
    if (head >>> 31 === 1) output.append(block)
    else unpackBlock(block, output)
    from += size + (hasBlockSums ? 4 : 0)
  }
}

/** A block packs at most this many bytes into one. */
const MOST_RATIO = 256

/** What is unpacked so far; later blocks may copy from earlier ones. */
class Output {
  bytes: Uint8Array
  length = 0
  private readonly most: number

  constructor(expected: number, packed: number) {
    this.most = MOST_RATIO * packed
    if (expected > this.most) throw new Error(`${packed} packed bytes can't hold ${expected}`)
    this.bytes = new Uint8Array(expected)
  }

  /** Makes room for this many more bytes. */
  reserve(more: number): void {
    const needed = this.length + more
    if (needed <= this.bytes.byteLength) return
    if (needed > this.most) throw new Error('LZ4 block that is longer than it can be')
    const grown = new Uint8Array(Math.min(this.most, Math.max(needed, 2 * this.bytes.byteLength)))
    grown.set(this.bytes.subarray(0, this.length))
    this.bytes = grown
  }

  append(part: Uint8Array): void {
    this.reserve(part.byteLength)
    this.bytes.set(part, this.length)
    this.length += part.byteLength
  }

  /** Repeats `length` bytes from `back` bytes ago; the two stretches may overlap. */
  repeat(back: number, length: number): void {
    if (back === 0 || back > this.length) throw new Error('LZ4 block that points before its beginning')
    this.reserve(length)
    const { bytes } = this
    const start = this.length
    if (back >= length) bytes.copyWithin(start, start - back, start - back + length)
    else for (let at = start; at < start + length; at += 1) bytes[at] = bytes[at - back] as number
    this.length += length
  }
}

function unpackBlock(block: Uint8Array, output: Output): void {
  let at = 0
  const next = (): number => {
    if (at >= block.byteLength) throw new Error('LZ4 block that is cut off')
    return block[at++] as number
  }
  const longer = (length: number): number => {
    if (length < 15) return length
    for (;;) {
      const more = next()
      length += more
      if (more < 255) return length
    }
  }
  while (at < block.byteLength) {
    const token = next()
    const literals = longer(token >> 4)
    if (at + literals > block.byteLength) throw new Error('LZ4 block that is cut off')
    output.append(block.subarray(at, at + literals))
    at += literals
    // The last sequence has no repeat.
    if (at === block.byteLength) return
    const back = next() | (next() << 8)
    output.repeat(back, longer(token & 15) + 4)
  }
}
