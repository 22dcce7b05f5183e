/**
 * The window's one way to the desk. Whether an Electron scheme or the loopback server answers is nobody's
 * business above this file. Everything that arrives is checked against the contract.
 */
import * as v from 'valibot'
import { ARCHIVE_PATHS, broughtInSchema, type BroughtIn } from '../../electron/desk/contract/archives.ts'
import {
  callReplySchema,
  CALLS,
  PATHS,
  streamLineSchema,
  STREAMS,
  type CallName,
  type CallRequest,
  type CallResponse,
  type StreamName,
  type StreamRequest,
  type StreamResponse,
} from '../../electron/desk/contract/calls.ts'
import {
  incomingSchema,
  type Incoming,
  type ProblemData,
  type Progress,
} from '../../electron/desk/contract/schemas.ts'
import { Problem } from '../../workers/log/problems.ts'

export interface Watch {
  readonly signal?: AbortSignal
  readonly onProgress?: (progress: Progress) => void
}

/** One small call; with `keepalive` it is sent although the window closes (up to 64 kB). @throws Problem as the desk reports it, or 'cannot-read' when the desk does not answer. */
export async function call<N extends CallName>(
  name: N,
  request: CallRequest<N>,
  { keepalive = false }: { readonly keepalive?: boolean } = {},
): Promise<CallResponse<N>> {
  const body = JSON.stringify(request)
  const response = await reach(`${PATHS.call}${name}`, { method: 'POST', body, keepalive })
  const reply = v.parse(callReplySchema, await response.json())
  if (!reply.ok) throw problemFrom(reply.problem)
  return v.parse(CALLS[name].response as v.GenericSchema<unknown, CallResponse<N>>, reply.value)
}

/** A long call with progress; aborting the signal cancels it at the desk. */
export async function stream<N extends StreamName>(
  name: N,
  request: StreamRequest<N>,
  watch: Watch = {},
): Promise<StreamResponse<N>> {
  const response = await reach(`${PATHS.stream}${name}`, {
    method: 'POST',
    body: JSON.stringify(request),
    ...signalOf(watch),
  })
  const value = await readLines(response, watch)
  return v.parse(STREAMS[name].response as v.GenericSchema<unknown, StreamResponse<N>>, value)
}

/** Gives a file's bytes to the desk, which looks at it. The name may be its path from a dropped folder on. */
export async function sendFile(file: File, watch: Watch = {}, name = file.name): Promise<Incoming> {
  const query = new URLSearchParams({ name, bytes: String(file.size) })
  const response = await reach(`${PATHS.files}?${query}`, { method: 'POST', body: file, ...signalOf(watch) })
  return v.parse(incomingSchema, await readLines(response, watch))
}

/** Gives an archive of a library to the desk, which checks all of it and adds what is new. */
export async function sendArchive(file: File, watch: Watch = {}): Promise<BroughtIn> {
  // Whatever the system takes the file for, its bytes are to be streamed.
  const headers = { 'content-type': 'application/octet-stream' }
  const init = { method: 'POST', body: file, headers, ...signalOf(watch) }
  return v.parse(broughtInSchema, await readLines(await reach(ARCHIVE_PATHS.archive, init), watch))
}

/** One column's bytes as they lie in the column file. */
export async function fetchColumn(path: string, signal?: AbortSignal): Promise<ArrayBuffer> {
  const response = await reach(path, signal ? { signal } : {})
  if (!response.ok) throw new Problem('not-found', 'The samples of that flight are no longer stored.')
  return response.arrayBuffer()
}

async function reach(path: string, init: RequestInit): Promise<Response> {
  try {
    return await fetch(path, init)
  } catch (error) {
    if (init.signal?.aborted) throw new Problem('cancelled', 'Cancelled.', {}, error)
    throw new Problem(
      'cannot-read',
      'The desk behind the window does not answer. Is Twopack still running?',
      {},
      error,
    )
  }
}

async function readLines(response: Response, { signal, onProgress }: Watch): Promise<unknown> {
  if (!response.ok || !response.body) {
    throw new Problem('cannot-read', `The desk answered with ${response.status}.`)
  }
  let rest = ''
  const reader = response.body.pipeThrough(new TextDecoderStream()).getReader()
  for (;;) {
    const { done, value } = await nextPart(reader, signal)
    const lines = (rest + (value ?? '')).split('\n')
    rest = lines.pop() ?? ''
    for (const text of lines) {
      const line = v.parse(streamLineSchema, JSON.parse(text))
      if (line.line === 'value') return line.value
      if (line.line === 'problem') throw problemFrom(line.problem)
      onProgress?.(line.progress)
    }
    if (done) throw new Problem('worker-died', 'The work ended without a result. Please try again.')
  }
}

async function nextPart(reader: ReadableStreamDefaultReader<string>, signal: AbortSignal | undefined) {
  try {
    return await reader.read()
  } catch (error) {
    if (signal?.aborted) throw new Problem('cancelled', 'Cancelled.', {}, error)
    throw new Problem(
      'cannot-read',
      'The connection to the desk broke off. Is Twopack still running?',
      {},
      error,
    )
  }
}

function signalOf(watch: Watch): { signal?: AbortSignal } {
  return watch.signal ? { signal: watch.signal } : {}
}

function problemFrom(data: ProblemData): Problem {
  return new Problem(data.code, data.message, data.place)
}
