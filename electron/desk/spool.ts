import { createHash } from 'node:crypto'
import { open } from 'node:fs/promises'
import { Problem } from '../../workers/log/problems.ts'
import { giveBack } from '../intake/give-back.ts'
import { writeAll } from '../intake/write-all.ts'
import type { Work } from './incoming.ts'

/** So much is gathered for one write. */
const WRITE_BYTES = 1 << 20
/** Progress is told no more often than this. */
const PROGRESS_MS = 50

/**
 * Writes a body to a new file as it comes, with back-pressure; one stretch is written while the next is gathered.
 * The body's chunks are used up: their memory is given back at once.
 * @returns the SHA-256 of its bytes, hexadecimal
 * @throws Problem disk when there is no more room, cancelled; what is on the disk then is the caller's to remove
 */
export async function spool(
  path: string,
  body: ReadableStream<Uint8Array<ArrayBuffer>>,
  bytes_expected: number | null,
  { signal, report }: Work,
): Promise<string> {
  const hash = createHash('sha256')
  const file = await open(path, 'wx')
  let gathered: Uint8Array<ArrayBuffer>[] = []
  let gathered_bytes = 0
  let writing = Promise.resolve()
  const write = async (): Promise<void> => {
    await writing
    const parts = gathered
    gathered = []
    gathered_bytes = 0
    writing = writeAll(file, parts).then(() => giveBack(parts.filter(isWhole)))
    // A failure is met where the promise is awaited next.
    writing.catch(() => undefined)
  }
  let bytes = 0
  let told_ms = -Infinity
  try {
    for await (const chunk of body) {
      if (signal.aborted) throw new Problem('cancelled', 'Cancelled.')
      if (chunk.byteLength === 0) continue
      hash.update(chunk)
      gathered.push(chunk)
      gathered_bytes += chunk.byteLength
      bytes += chunk.byteLength
      if (gathered_bytes >= WRITE_BYTES) await write()
      const now_ms = performance.now()
      if (!bytes_expected || now_ms - told_ms < PROGRESS_MS) continue
      told_ms = now_ms
      report({ phase: 'Taking the file in', done: Math.min(1, bytes / bytes_expected) })
    }
    await write()
    await writing
  } catch (error) {
    if (isDiskFull(error)) throw new Problem('disk', 'The disk is full; nothing was kept.', {}, error)
    if (signal.aborted) throw new Problem('cancelled', 'Cancelled.', {}, error)
    throw error
  } finally {
    // Its failure has been met above.
    await writing.catch(() => undefined)
    await file.close()
  }
  return hash.digest('hex')
}

/** Whether a chunk is all of its memory, which is then nobody else's. */
const isWhole = (chunk: Uint8Array): boolean => chunk.byteLength === chunk.buffer.byteLength

function isDiskFull(error: unknown): boolean {
  return error instanceof Error && 'code' in error && (error.code === 'ENOSPC' || error.code === 'EDQUOT')
}
