import type { FileHandle } from 'node:fs/promises'

/** Writes all bytes at the file's end, however few of them the system takes at once. Parts must not be empty. */
export async function writeAll(handle: FileHandle, parts: readonly Uint8Array[]): Promise<void> {
  // An operating system takes only so many pieces in one call (1024 on Linux).
  for (let from = 0; from < parts.length; from += 512) {
    let rest = parts.slice(from, from + 512)
    while (rest.length > 0) {
      let { bytesWritten } = await handle.writev(rest)
      while (rest[0] && bytesWritten >= rest[0].byteLength) {
        bytesWritten -= rest[0].byteLength
        rest = rest.slice(1)
      }
      if (rest[0] && bytesWritten > 0) rest = [rest[0].subarray(bytesWritten), ...rest.slice(1)]
    }
  }
}
