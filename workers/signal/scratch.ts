/** Arrays on loan; what stands in them is left over from others. */
export interface Scratch {
  doubles(length: number): Float64Array
  singles(length: number): Float32Array
}

/** Memory is taken in blocks of at least this. */
const BLOCK = 2 ** 21
/** So much is kept for the next loan, whatever a long flight needed. */
const KEPT = 2 ** 25

/** Blocks that are lent from, in order, each from its start on. */
let blocks: ArrayBuffer[] = []
/** The block that is lent from now, and how much of it is lent. */
let current = 0
let lent = 0
let loans = 0

/**
 * Lends arrays to `work`, as many as it asks for, and takes them all back when it returns or throws: they must not be part of
 * what it returns, nor be kept. Loans may be nested. Fresh memory for every step of an analysis costs more than many steps
 * themselves: its pages are touched for the first time, and clearing it away makes engines forget compiled code.
 */
export function withScratch<T>(work: (scratch: Scratch) => T): T {
  const [block, at] = [current, lent]
  loans++
  try {
    return work(scratch)
  } finally {
    current = block
    lent = at
    if (--loans === 0) giveBack()
  }
}

const scratch: Scratch = {
  doubles(length) {
    const place = take(8 * length)
    return new Float64Array(blocks[current]!, place, length)
  },
  singles(length) {
    const place = take(4 * length)
    return new Float32Array(blocks[current]!, place, length)
  },
}

/** Place of so many bytes in the current block, which may become another one. */
function take(bytes: number): number {
  while (current < blocks.length && lent + bytes > blocks[current]!.byteLength) {
    current++
    lent = 0
  }
  if (current === blocks.length) {
    blocks.push(new ArrayBuffer(Math.max(BLOCK, bytes)))
    lent = 0
  }
  const place = lent
  lent = Math.ceil((lent + bytes) / 64) * 64
  return place
}

function giveBack(): void {
  let total = 0
  blocks = blocks.filter((block) => (total += block.byteLength) <= KEPT)
}
