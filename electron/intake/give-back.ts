/**
 * Gives arrays' memory back at once. The garbage collector would do so too, but late: it does not see how much memory
 * lies behind a small object. Everything that shares the memory is empty afterwards.
 */
export function giveBack(arrays: Iterable<ArrayBufferView<ArrayBuffer> | null>): void {
  for (const array of arrays) {
    if (!array || array.buffer.detached) continue
    if (array.buffer.resizable) array.buffer.resize(0)
    else array.buffer.transfer(0)
  }
}

/**
 * Memory that goes back to the system when it is given back. What is made otherwise may come out of a heap that keeps
 * what it once had. Loops over it are slow: it is for what is copied in and out.
 */
export function lentMemory(bytes: number): ArrayBuffer {
  return new ArrayBuffer(bytes, { maxByteLength: bytes })
}
