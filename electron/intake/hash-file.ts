import { createHash } from 'node:crypto'
import { openLog } from './byte-source.ts'
import type { Progress } from './read-whole.ts'

/** SHA-256 of a file's bytes as they lie on the disk, hexadecimal: the key by which a log is known again. */
export async function hashFile(
  path: string,
  fileName: string,
  onProgress: (progress: Progress) => void,
  stop: () => void,
): Promise<string> {
  const log = await openLog(path, fileName)
  try {
    const hash = createHash('sha256')
    const buffer = new Uint8Array(1 << 20)
    let done = 0
    for (;;) {
      stop()
      const { bytesRead } = await log.handle.read(buffer, 0, buffer.byteLength, done)
      if (bytesRead === 0) return hash.digest('hex')
      hash.update(buffer.subarray(0, bytesRead))
      done += bytesRead
      onProgress({ phase: 'Recognising', done: Math.min(1, done / log.bytes) })
    }
  } finally {
    await log.handle.close()
  }
}
