/**
 * Gives arrays' memory back at once. The garbage collector would do so too, but late: it does not see how much memory
 * lies behind a small object. Everything that shares the memory is empty afterwards.
 */
export function giveBack(arrays: Iterable<ArrayBufferView<ArrayBuffer> | null>): void {
  for (const array of arrays) if (array && !array.buffer.detached) array.buffer.transfer(0)
}
