import { request, type ClientRequest } from 'node:http'
import { networkInterfaces } from 'node:os'
import { afterAll, afterEach, describe, expect, test, vi } from 'vitest'
import { JSON_LIMIT_BYTES } from '../../../electron/host/routes.ts'
import type { Desk } from '../../../electron/desk/desk-types.ts'
import type { Loopback } from '../../../electron/loopback.ts'
import { ask, enter, portOf, serve, windowFolder } from './support.ts'

const folder = windowFolder()
const lines: string[] = []
let host: Loopback | null = null

async function start(desk: Partial<Desk>): Promise<{ host: Loopback; own: Record<string, string> }> {
  lines.length = 0
  host = await serve(desk, folder.root, lines)
  return { host, own: await enter(host) }
}
afterEach(async () => {
  await host?.close()
  host = null
})
afterAll(() => folder.remove())

/** A POST that is left open, so that the test decides what is sent when, and how it ends. */
function openPost(host: Loopback, path: string, headers: Record<string, string>): ClientRequest {
  const sent = request({ host: '127.0.0.1', port: portOf(host), method: 'POST', path, headers, agent: false })
  sent.on('error', () => undefined) // a cut connection is what these tests are about
  return sent
}

const upload = { 'content-type': 'application/octet-stream' }
const chunk = Buffer.alloc(64 * 1024, 7)

describe('a file on its way in', () => {
  test('arrives whole, however long', async () => {
    let bytes = 0
    const { host, own } = await start({
      async handle(request) {
        for await (const part of request.body!) bytes += part.byteLength
        return Response.json({ bytes })
      },
    })
    const body = Buffer.alloc(JSON_LIMIT_BYTES * 8, 3)
    const answer = await ask(host, {
      method: 'POST',
      path: '/desk/files?name=a.csv',
      headers: { ...own, ...upload },
      body,
    })
    expect(JSON.parse(answer.body.toString())).toEqual({ bytes: body.byteLength })
  })

  test('waits for the reader: what a busy desk has not taken stays with the sender', async () => {
    let goOn = () => {}
    const busy = new Promise<void>((resolve) => (goOn = resolve))
    let bytes = 0
    const { host, own } = await start({
      async handle(request) {
        await busy
        for await (const part of request.body!) bytes += part.byteLength
        return Response.json({ bytes })
      },
    })
    const sent = openPost(host, '/desk/files', { ...own, ...upload })
    const answered = new Promise<void>((resolve) =>
      sent.once('response', (response) => response.resume().once('end', resolve)),
    )
    const total = 64 * 1024 * 1024
    let given = 0
    const give = (): void => {
      while (given < total) {
        given += chunk.byteLength
        if (!sent.write(chunk)) return
      }
      sent.end()
    }
    sent.on('drain', give)
    give()
    await vi.waitFor(() => expect(given).toBeGreaterThan(0))
    await settled(() => given)
    // The sockets' buffers and 256 KB of ours are all that may be under way.
    expect(given).toBeLessThan(total / 4)
    goOn()
    await answered
    expect(bytes).toBe(total)
  })

  test('is reported as broken, and its call as aborted, when the sender goes away', async () => {
    const seen: string[] = []
    const { host, own } = await start({
      async handle(request) {
        request.signal.addEventListener('abort', () => seen.push('aborted'))
        try {
          for await (const part of request.body!) seen.push(part.byteLength > 0 ? 'bytes' : 'nothing')
          seen.push('whole')
        } catch {
          seen.push('broken')
        }
        return new Response(null, { status: 204 })
      },
    })
    const sent = openPost(host, '/desk/files', { ...own, ...upload, 'content-length': '1000000' })
    sent.write('a,b\n')
    await vi.waitFor(() => expect(seen).toContain('bytes'))
    sent.destroy()
    await vi.waitFor(() => expect(seen).toEqual(expect.arrayContaining(['aborted', 'broken'])))
    expect(seen).not.toContain('whole')
    expect(lines).toEqual([])
  })

  test('may be refused unread, and the connection then serves the next call', async () => {
    const { host, own } = await start({
      handle: async (request) => new Response(new URL(request.url).pathname, { status: 422 }),
    })
    const body = Buffer.alloc(4 * 1024 * 1024)
    for (let round = 0; round < 3; round++) {
      const response = await fetch(`${host.origin}/desk/files`, {
        method: 'POST',
        headers: { ...own, ...upload },
        body,
      })
      expect([response.status, await response.text()]).toEqual([422, '/desk/files'])
    }
  })
})

describe('a small call', () => {
  test('is limited, by its announced and by its true length', async () => {
    const { host, own } = await start({ handle: async (request) => new Response(await request.text()) })
    const headers = { ...own, 'content-type': 'application/json' }
    const long = Buffer.alloc(JSON_LIMIT_BYTES + 1, 0x20)
    const path = '/desk/call/x'
    expect((await ask(host, { method: 'POST', path, headers, body: long })).status).toBe(413)
    const unannounced = { ...headers, 'transfer-encoding': 'chunked' }
    expect((await ask(host, { method: 'POST', path, headers: unannounced, body: long })).status).toBe(413)
    expect((await ask(host, { method: 'POST', path: '/desk/files/x', headers, body: long })).status).toBe(413)
    const fits = Buffer.alloc(JSON_LIMIT_BYTES, 0x20)
    expect((await ask(host, { method: 'POST', path, headers, body: fits })).body.byteLength).toBe(
      JSON_LIMIT_BYTES,
    )
  })

  test('that fails unexpectedly says so plainly; the details go to the log, without the address’s search part', async () => {
    const { host, own } = await start({ handle: () => Promise.reject(new Error('a bug of ours')) })
    const answer = await ask(host, { method: 'POST', path: '/desk/call/x?secret', headers: own, body: '{}' })
    expect(answer.status).toBe(500)
    expect(answer.body.toString()).not.toContain('a bug of ours')
    expect(lines).toEqual([expect.stringContaining('POST /desk/call/x: Error: a bug of ours')])
  })

  test('cannot loosen the security headers, but sets its own type', async () => {
    const { host, own } = await start({
      handle: async () =>
        new Response('{}', {
          headers: {
            'content-type': 'application/json',
            'content-security-policy': 'default-src *',
            connection: 'close',
          },
        }),
    })
    const { headers } = await ask(host, { path: '/desk/call/x', headers: own })
    expect(headers['content-type']).toBe('application/json')
    expect(headers['content-security-policy']).toContain("default-src 'none'")
    expect(headers['cache-control']).toBe('no-store')
  })
})

describe('a long answer', () => {
  test('is sent line by line, as it comes', async () => {
    let controller: ReadableStreamDefaultController<Uint8Array> | null = null
    const { host, own } = await start({
      handle: async () => new Response(new ReadableStream({ start: (it) => void (controller = it) })),
    })
    const response = await fetch(`${host.origin}/desk/stream/x`, { method: 'POST', headers: own, body: '{}' })
    const reader = response.body!.getReader()
    for (const line of ['one\n', 'two\n']) {
      controller!.enqueue(Buffer.from(line))
      expect(Buffer.from((await reader.read()).value!).toString()).toBe(line)
    }
    controller!.close()
    expect((await reader.read()).done).toBe(true)
  })

  test('is made no faster than it is taken, and cancelled when the window goes away', async () => {
    let made = 0
    let cancelled = false
    let aborted = false
    const { host, own } = await start({
      async handle(request) {
        request.signal.addEventListener('abort', () => (aborted = true))
        return new Response(
          new ReadableStream<Uint8Array>({
            pull(controller) {
              made += chunk.byteLength
              controller.enqueue(chunk)
            },
            cancel: () => void (cancelled = true),
          }),
        )
      },
    })
    const sent = openPost(host, '/desk/stream/x', own)
    sent.end('{}')
    const response = await new Promise<NodeJS.ReadableStream>((resolve) => sent.once('response', resolve))
    response.pause()
    await settled(() => made)
    expect(made).toBeLessThan(32 * 1024 * 1024)
    expect(cancelled).toBe(false)
    sent.destroy()
    await vi.waitFor(() => expect([cancelled, aborted]).toEqual([true, true]))
    expect(lines).toEqual([])
  })

  test('that breaks half-way breaks the connection, so that a part can’t pass for the whole', async () => {
    const { host, own } = await start({
      handle: async () =>
        new Response(
          new ReadableStream({
            start: (it) => it.enqueue(Buffer.from('half')),
            pull: (it) => it.error(new Error('the disk went away')),
          }),
        ),
    })
    await expect(
      ask(host, { method: 'POST', path: '/desk/stream/x', headers: own, body: '{}' }),
    ).rejects.toThrow()
    expect(lines).toEqual([expect.stringContaining('the disk went away')])
  })
})

describe('columns', () => {
  test('are the parts one after the other, with their length', async () => {
    const parts = [new Uint8Array(3_000_000).fill(1), new Uint8Array(0), new Uint8Array(1_500_000).fill(2)]
    const { host, own } = await start({
      bulk: async () => ({ status: 200, parts, byteLength: 4_500_000 }),
    })
    const answer = await ask(host, { path: '/bulk/flight/1/column/0', headers: own })
    expect(answer.headers).toMatchObject({
      'content-type': 'application/octet-stream',
      'content-length': '4500000',
      'cache-control': 'no-store',
    })
    expect(Buffer.compare(answer.body, Buffer.concat(parts))).toBe(0)
  })

  test('that are unknown are 404, whether or not the path has a meaning', async () => {
    const { host, own } = await start({
      bulk: async (path) =>
        path.startsWith('/bulk/flight') ? { status: 404, parts: [], byteLength: 0 } : null,
    })
    expect((await ask(host, { path: '/bulk/flight/9/column/0', headers: own })).status).toBe(404)
    expect((await ask(host, { path: '/bulk/other', headers: own })).status).toBe(404)
    expect((await ask(host, { path: '/bulk/flight/1', headers: own, method: 'POST' })).status).toBe(405)
  })

  test('a reader that goes away aborts the reading', async () => {
    let aborted = false
    const { host, own } = await start({
      bulk: (_path, signal) =>
        new Promise((resolve) => {
          signal?.addEventListener('abort', () => {
            aborted = true
            resolve(null)
          })
        }),
    })
    const stop = new AbortController()
    const asked = fetch(`${host.origin}/bulk/flight/1/column/0`, { headers: own, signal: stop.signal })
    setTimeout(() => stop.abort(), 50)
    await expect(asked).rejects.toThrow()
    await vi.waitFor(() => expect(aborted).toBe(true))
    expect(lines).toEqual([])
  })
})

test('closing cuts what is open and frees the port', async () => {
  const { host: first, own } = await start({ handle: () => new Promise(() => undefined) })
  const hanging = fetch(`${first.origin}/desk/call/x`, { method: 'POST', headers: own, body: '{}' })
  const outcome = expect(hanging).rejects.toThrow()
  await new Promise((resolve) => setTimeout(resolve, 50))
  await first.close()
  host = null
  await outcome
  await expect(fetch(first.origin)).rejects.toThrow()
})

test('a window that is gone for long is noticed; one that only reloads is not', async () => {
  const { host, own } = await start({ handle: async () => new Response('x') })
  let deserted = false
  const call = () => ask(host, { method: 'POST', path: '/desk/call/x', headers: own, body: '{}' })
  const watched = host.deserted(1500).then(() => (deserted = true))
  for (let time = 0; time < 4; time++) {
    await call() // each on a connection of its own, which then closes
    await new Promise((resolve) => setTimeout(resolve, 500))
    expect(deserted).toBe(false)
  }
  await watched
})

test('nobody is served but by 127.0.0.1', async () => {
  const { host } = await start({})
  const elsewhere = Object.values(networkInterfaces())
    .flatMap((list) => list ?? [])
    .filter(({ address }) => address !== '127.0.0.1' && !address.startsWith('fe80'))
    .map(({ address, family }) => (family === 'IPv6' ? `[${address}]` : address))
  for (const address of ['[::1]', '127.0.0.2', ...elsewhere]) {
    await expect(fetch(`http://${address}:${portOf(host)}/`), address).rejects.toThrow()
  }
})

/** Resolves when a number has stood still for a while. */
async function settled(read: () => number): Promise<void> {
  for (let before = -1; before !== read();) {
    before = read()
    await new Promise((resolve) => setTimeout(resolve, 300))
  }
}
