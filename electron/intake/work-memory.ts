import { giveBack } from './give-back.ts'
import { growMemory, makeMemory } from '../../workers/text/kernel/rows-kernel.ts'

/**
 * Memory that the steps of a reading use in turn: the look's rows, the whole table's rows, naming, judging. Each for
 * itself would take fresh pages and leave its own behind until the garbage collector comes.
 */

/** More than this is not kept from one use to the next. */
const KEPT_BYTES = 16 << 20
/** Above this, memory is made for the purpose and freed after it: a kernel's memory has an end. */
const MOST_BYTES = 1 << 30
let spare: WebAssembly.Memory | null = null

/** Memory for one user at a time; what stands in it is left from the user before. */
export function takeMemory(): WebAssembly.Memory {
  const memory = spare ?? makeMemory(0)
  spare = null
  return memory
}

/** Lets the next user have it: nothing of it may be used any more. */
export function handBack(memory: WebAssembly.Memory): void {
  if (memory.buffer.byteLength <= KEPT_BYTES) spare = memory
}

/** Hands out parts of a memory one after another. Parts are not cleared. */
export class Parts {
  private readonly buffer: ArrayBuffer
  private readonly isOwn: boolean
  private taken = 0

  /** @param bytes all that will be taken, each part filled up to a multiple of 8 */
  constructor(memory: WebAssembly.Memory, bytes: number) {
    this.isOwn = bytes > MOST_BYTES
    if (!this.isOwn) growMemory(memory, bytes)
    this.buffer = this.isOwn ? new ArrayBuffer(bytes) : (memory.buffer as ArrayBuffer)
  }

  f64(length: number): Float64Array<ArrayBuffer> {
    return new Float64Array(this.buffer, this.take(8 * length), length)
  }

  f32(length: number): Float32Array<ArrayBuffer> {
    return new Float32Array(this.buffer, this.take(4 * length), length)
  }

  private take(bytes: number): number {
    const at = this.taken
    this.taken += 8 * Math.ceil(bytes / 8)
    return at
  }

  /** Nobody uses the parts any more. */
  end(): void {
    if (this.isOwn) giveBack([new Uint8Array(this.buffer)])
  }
}
