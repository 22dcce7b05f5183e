import { ROWS_WASM } from './rows-wasm.ts'

/** What `parse` came back for: the text is used up, the group is full, an odd record, a record of another length. */
export const MORE = 0
export const FULL = 1
export const ODD = 2
export const WRONG = 3

/** What becomes of a column's cells, as the kernel's table has it. */
export const SKIP = 0
export const F32 = 1
export const F64 = 2
export const EXACT = 3

/** Bytes of a column's entry in the table, and where its parts stand. See rows.as. */
export const ENTRY = 24
export const ENTRY_ORIGIN_SET = 1
export const ENTRY_DECIMALS = 2
export const ENTRY_PLANE = 4
export const ENTRY_ORIGIN = 8

/** Rows of one block of a min/max level. */
export const LEVEL_BLOCK = 64
/** Memory for the small planes: with the text being parsed they fit into a processor's nearer cache. */
const BATCH_BYTES = 64 << 10
/** Memory below this belongs to the kernel's own constants. */
const FIRST_FREE = 16_384
const PAGE = 65_536

/** The compiled kernel's exports. */
export interface Kernel {
  readonly pos: WebAssembly.Global<'i32'>
  readonly recordStart: WebAssembly.Global<'i32'>
  readonly cells: WebAssembly.Global<'i32'>
  readonly line: WebAssembly.Global<'i32'>
  readonly breaks: WebAssembly.Global<'i32'>
  readonly row: WebAssembly.Global<'i32'>
  readonly odd: WebAssembly.Global<'i32'>
  readonly limit: WebAssembly.Global<'i32'>
  start(
    separator: number,
    decimal: number,
    newline: number,
    columns: number,
    trailing: number,
    table: number,
    stride: number,
  ): void
  renewPairs(): void
  parse(from: number, end: number, final: number): number
  spill32(
    count: number,
    rows: number,
    from: number,
    fromStride: number,
    to: number,
    toStride: number,
    minAt: number,
    maxAt: number,
    levelStride: number,
    ranges: number,
  ): void
  spill64(
    count: number,
    rows: number,
    from: number,
    fromStride: number,
    to: number,
    toStride: number,
    ranges: number,
  ): void
}

/** Addresses of the two sets of planes, which take turns. */
type Sides = readonly [number, number]

/**
 * Where things lie in the kernel's memory, for some numbers of 64-bit and 32-bit columns. Cells are written to small
 * planes of `batchRows` rows, which stay in the processor's cache, and go on to the planes of the group together.
 */
export interface MemoryPlan {
  readonly table: number
  readonly batchRows: number
  readonly batch64: number
  readonly batch32: number
  /** Bytes from one small plane to the next. */
  readonly stride64: number
  readonly stride32: number
  /** Smallest and largest value of each 64-bit column, then of each 32-bit column, as doubles. */
  readonly ranges: number
  readonly f64: Sides
  readonly f32: Sides
  readonly levelMin: Sides
  readonly levelMax: Sides
  /** The text comes last, so that its room can grow. */
  readonly text: number
}

/** Lays out the memory, every part at a multiple of 64. */
export function planMemory(columns: number, wide: number, narrow: number, groupRows: number): MemoryPlan {
  let end = FIRST_FREE
  const take = (bytes: number): number => {
    const start = end
    end = Math.ceil((start + bytes) / 64) * 64
    return start
  }
  const blocks = Math.ceil(groupRows / LEVEL_BLOCK)
  const both = (bytes: number): Sides => [take(bytes), take(bytes)]
  const rowBytes = 8 * wide + 4 * narrow
  const fits = LEVEL_BLOCK * Math.max(1, Math.floor(BATCH_BYTES / Math.max(1, rowBytes) / LEVEL_BLOCK))
  const batchRows = Math.min(groupRows, fits)
  // One line of the cache more, so that neighbours do not fall onto the same lines.
  const strideOf = (bytes: number): number => Math.ceil((bytes * batchRows) / 64) * 64 + 64
  return {
    // Behind the last column stands an entry of none.
    table: take((columns + 1) * ENTRY),
    batchRows,
    batch64: take(wide * strideOf(8)),
    batch32: take(narrow * strideOf(4)),
    stride64: strideOf(8),
    stride32: strideOf(4),
    ranges: take(16 * (wide + narrow)),
    f64: both(8 * wide * groupRows),
    f32: both(4 * narrow * groupRows),
    levelMin: both(4 * narrow * blocks),
    levelMax: both(4 * narrow * blocks),
    text: end,
  }
}

/** A memory that reaches at least to this address. */
export function makeMemory(bytes: number): WebAssembly.Memory {
  return new WebAssembly.Memory({ initial: Math.ceil(bytes / PAGE), maximum: 65_536 })
}

/** Grows a memory until it reaches to this address; views of it made before are void then. */
export function growMemory(memory: WebAssembly.Memory, bytes: number): void {
  const missing = bytes - memory.buffer.byteLength
  if (missing > 0) memory.grow(Math.ceil(missing / PAGE))
}

let compiled: WebAssembly.Module | null = null

/** A kernel of its own on this memory. `slow` reads a cell as text. */
export function makeKernel(
  memory: WebAssembly.Memory,
  slow: (column: number, start: number, end: number) => number,
): Kernel {
  compiled ??= new WebAssembly.Module(
    Uint8Array.from(atob(ROWS_WASM), (character) => character.charCodeAt(0)),
  )
  const instance = new WebAssembly.Instance(compiled, { env: { memory, slow, abort: aborted } })
  return instance.exports as unknown as Kernel
}

function aborted(): never {
  throw new Error('the reading kernel stopped')
}
