import type { FileHandle } from 'node:fs/promises'
import { open, stat } from 'node:fs/promises'
import { createGunzip, createZstdDecompress, type Gunzip, type ZstdDecompress } from 'node:zlib'
import { Problem } from '../../workers/log/problems.ts'
import { giveBack } from './give-back.ts'
import { toUtf8 } from './to-utf8.ts'

/** A log file, opened for reading once from front to back. */
export interface OpenLog {
  readonly handle: FileHandle
  /** Size on the disk. */
  readonly bytes: number
  readonly compression: 'none' | 'gzip' | 'zstd'
  /** Its first bytes as they lie on the disk; fewer when it is shorter. */
  readonly start: Uint8Array
}

const START_BYTES = 16

/**
 * Opens a log. @throws Problem not-a-file, cannot-read, empty-file
 * @param file the name to use in sentences
 */
export async function openLog(path: string, file: string): Promise<OpenLog> {
  let handle: FileHandle | null = null
  try {
    // Asked first: opening a pipe or a device would wait for ever.
    const status = await stat(path)
    if (status.isDirectory()) throw new Problem('not-a-file', `${file} is a folder, not a log.`, { file })
    if (!status.isFile()) throw new Problem('not-a-file', `${file} is no ordinary file.`, { file })
    if (status.size === 0) throw new Problem('empty-file', `${file} is empty.`, { file })
    handle = await open(path, 'r')
    const buffer = new Uint8Array(START_BYTES)
    const { bytesRead } = await handle.read(buffer, 0, START_BYTES, 0)
    const start = buffer.subarray(0, bytesRead)
    return { handle, bytes: status.size, compression: compressionOf(start), start }
  } catch (cause) {
    await handle?.close()
    throw cause instanceof Problem ? cause : cannotRead(file, cause)
  }
}

/** By the first bytes, never by the name. */
function compressionOf(start: Uint8Array): OpenLog['compression'] {
  if (start[0] === 0x1f && start[1] === 0x8b) return 'gzip'
  return start[0] === 0x28 && start[1] === 0xb5 && start[2] === 0x2f && start[3] === 0xfd ? 'zstd' : 'none'
}

/** The sentence for a read that the system refuses. */
export function cannotRead(file: string, cause: unknown): Problem {
  const code = (cause as NodeJS.ErrnoException).code
  if (code === 'ENOENT') return new Problem('cannot-read', `${file} does not exist.`, { file }, cause)
  const why = code === 'EACCES' || code === 'EPERM' ? 'reading it is not allowed' : (code ?? String(cause))
  return new Problem('cannot-read', `${file} can't be read: ${why}.`, { file }, cause)
}

/** Slices of about this size keep the bytes being parsed in the processor's cache. */
export const SLICE = 64 << 10
const READ = 512 << 10
/** Unpacked pieces: each costs a turn of the event loop, so they are larger than slices. */
const UNPACK = 512 << 10
/** A text that unpacks to more than this at more than this ratio is no log: real ones shrink to a tenth or so. */
const BOMB_BYTES = 256 << 20
const BOMB_RATIO = 200

/**
 * The file's text as UTF-8 bytes, unpacked when it is compressed, in slices of at most 64 KB (16-bit text: somewhat
 * more) that are only valid until the next is asked for. `onRaw` sees the bytes as they lie on the disk, in order,
 * before their text comes out. An archive that ends too early gives what there is and then calls `onCut`.
 */
export function textBytes(
  log: OpenLog,
  file: string,
  onRaw: (bytes: Uint8Array) => void,
  onCut: () => void,
): AsyncGenerator<Uint8Array, void, void> {
  const raw = rawBytes(log, file, onRaw)
  return toUtf8(log.compression === 'none' ? sliced(raw) : unpacked(log, file, raw, onCut))
}

async function* sliced(raw: AsyncIterable<Uint8Array>): AsyncGenerator<Uint8Array, void, void> {
  for await (const bytes of raw) yield* slices(bytes)
}

async function* unpacked(
  log: OpenLog,
  file: string,
  raw: AsyncIterable<Uint8Array>,
  onCut: () => void,
): AsyncGenerator<Uint8Array, void, void> {
  let length = 0
  const unpacker =
    log.compression === 'gzip'
      ? createGunzip({ chunkSize: UNPACK })
      : createZstdDecompress({ chunkSize: UNPACK })
  const fed = feed(raw, unpacker)
  try {
    // Unpacking goes on in a thread of the pool while the last piece is being parsed.
    for await (const bytes of unpacker as AsyncIterable<Buffer>) {
      length += bytes.byteLength
      if (length > BOMB_BYTES && length > BOMB_RATIO * log.bytes) {
        throw new Problem('too-large', `${file} unpacks to far more than a log of its size can hold.`, {
          file,
        })
      }
      yield* slices(bytes)
      letGo(bytes)
    }
    await fed
  } catch (cause) {
    if (cause instanceof Problem) throw cause
    const { code, message } = cause as NodeJS.ErrnoException
    // The code of both kinds of archive for one that is over too early.
    if (code === 'Z_BUF_ERROR') return onCut()
    throw new Problem('cannot-read', `${file} is a damaged archive: ${message}.`, { file }, cause)
  } finally {
    unpacker.destroy()
    // Its failure, if any, has been met above as the unpacker's.
    await fed.catch(() => undefined)
  }
}

/** Gives the unpacker the file's bytes, each piece when the one before is used up: none is copied. */
async function feed(raw: AsyncIterable<Uint8Array>, unpacker: Gunzip | ZstdDecompress): Promise<void> {
  const ended = new Promise<'ended'>((resolve) => unpacker.once('close', () => resolve('ended')))
  try {
    for await (const bytes of raw) {
      const taken = new Promise<'taken'>((resolve) => unpacker.write(bytes, () => resolve('taken')))
      if ((await Promise.race([taken, ended])) === 'ended') return
    }
    unpacker.end()
  } catch (cause) {
    unpacker.destroy(cause as Error)
    throw cause
  }
}

/**
 * Gives a piece's memory back at once when the unpacker is done with it, which is when it filled the piece to its end:
 * waiting for the garbage collector would cost fresh memory for every piece of a large file.
 */
function letGo(bytes: Buffer): void {
  if (bytes.byteOffset + bytes.byteLength < UNPACK || bytes.buffer.byteLength !== UNPACK) return
  giveBack([bytes as Buffer<ArrayBuffer>])
}

function* slices(bytes: Uint8Array): Generator<Uint8Array> {
  for (let from = 0; from < bytes.byteLength; from += SLICE) {
    // A plain Uint8Array: Buffer's own prototype would make the parser's reads slower.
    yield new Uint8Array(bytes.buffer, bytes.byteOffset + from, Math.min(SLICE, bytes.byteLength - from))
  }
}

/** The bytes on the disk. While one buffer is worked on, the next is being read. */
async function* rawBytes(
  { handle }: OpenLog,
  file: string,
  onRaw: (bytes: Uint8Array) => void,
): AsyncGenerator<Uint8Array> {
  const buffers = [new Uint8Array(READ), new Uint8Array(READ)]
  let position = 0
  const readNext = async (which: number): Promise<Uint8Array> => {
    const buffer = buffers[which] as Uint8Array
    try {
      const { bytesRead } = await handle.read(buffer, 0, READ, position)
      position += bytesRead
      return buffer.subarray(0, bytesRead)
    } catch (cause) {
      throw cannotRead(file, cause)
    }
  }
  let which = 0
  let coming = readNext(which)
  for (;;) {
    const bytes = await coming
    if (bytes.byteLength === 0) return giveBack(buffers)
    which = 1 - which
    coming = readNext(which)
    // A failure of the read-ahead is met at the next turn, or by nobody when the reader has stopped.
    coming.catch(() => undefined)
    onRaw(bytes)
    yield bytes
  }
}
