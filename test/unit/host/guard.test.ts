import { afterAll, beforeAll, describe, expect, test } from 'vitest'
import { sameSecret } from '../../../electron/host/guard.ts'
import type { Loopback } from '../../../electron/loopback.ts'
import { ask, enter, PAGE, portOf, serve, windowFolder } from './support.ts'

const folder = windowFolder()
let calls: string[] = []
let host: Loopback
let own: Record<string, string>

beforeAll(async () => {
  host = await serve(
    {
      handle: async (request) => {
        calls.push(
          `${request.method} ${new URL(request.url).pathname} cookie:${request.headers.get('cookie')}`,
        )
        return Response.json({ ok: true })
      },
      bulk: async (path) => {
        calls.push(`bulk ${path}`)
        return { status: 200, parts: [new Uint8Array([1, 2])], byteLength: 2 }
      },
    },
    folder.root,
  )
  own = await enter(host)
})
afterAll(async () => {
  await host.close()
  folder.remove()
})

const call = (headers: Record<string, string>, method = 'POST') =>
  ask(host, { method, path: '/desk/call/x', headers, body: '{}' })

describe('the token of the first address', () => {
  test('becomes a cookie that scripts and other sites never see, and a clean address', async () => {
    const url = new URL(host.address('again'))
    const answer = await ask(host, { path: url.pathname + url.search })
    expect(answer.status).toBe(303)
    expect(answer.headers.location).toBe('/')
    expect(answer.headers['set-cookie']).toEqual([
      expect.stringMatching(/^twopack-\d+=[\w-]{43}; Path=\/; HttpOnly; SameSite=Strict$/),
    ])
    expect(answer.headers['set-cookie']?.[0]).not.toContain(url.searchParams.get('token'))
  })

  test('is 256 bits, new for each address', () => {
    const tokens = [host.address('again'), host.address('again')].map(
      (url) => new URL(url).searchParams.get('token') ?? '',
    )
    expect(tokens.map((token) => Buffer.from(token, 'base64url').byteLength)).toEqual([32, 32])
    expect(tokens[0]).not.toBe(tokens[1])
  })

  test('made for one use lets one window in, and only that one may reload it', async () => {
    const url = new URL(host.address('once'))
    const path = url.pathname + url.search
    expect((await ask(host, { path })).status).toBe(303)
    expect((await ask(host, { path })).status).toBe(403)
    expect((await ask(host, { path, headers: own })).status).toBe(303)
  })

  test.each([
    ['wrong', '/?token=AAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAA'],
    ['empty', '/?token='],
    ['of another length', '/?token=x'],
  ])('is refused when %s', async (_what, path) => {
    const answer = await ask(host, { path })
    expect(answer.status).toBe(403)
    expect(answer.headers['set-cookie']).toBeUndefined()
  })

  test('is refused, though right, under a wrong Host or from a foreign page', async () => {
    const url = new URL(host.address('again'))
    const path = url.pathname + url.search
    expect((await ask(host, { path, headers: { host: `localhost:${portOf(host)}` } })).status).toBe(403)
    expect((await ask(host, { path, headers: { 'sec-fetch-site': 'cross-site' } })).status).toBe(403)
    expect((await ask(host, { path, headers: { origin: 'https://example.org' } })).status).toBe(403)
  })

  test('means nothing elsewhere than on the page itself', async () => {
    const token = new URL(host.address('again')).searchParams.get('token')
    expect((await ask(host, { path: `/desk/call/x?token=${token}` })).status).toBe(403)
    expect((await ask(host, { path: `/?token=${token}`, method: 'POST' })).status).toBe(403)
  })
})

describe('our own window', () => {
  test('gets its page, also by plain navigation without an origin', async () => {
    const answer = await ask(host, {
      path: '/',
      headers: { cookie: own['cookie']!, 'sec-fetch-site': 'none' },
    })
    expect([answer.status, answer.body.toString()]).toEqual([200, PAGE])
    expect((await ask(host, { path: '/', headers: { cookie: own['cookie']! } })).status).toBe(200)
  })

  test('reaches the desk, which never sees the cookie', async () => {
    calls = []
    expect((await call(own)).status).toBe(200)
    expect(calls).toEqual(['POST /desk/call/x cookie:null'])
  })

  test('reaches columns by a read that sends no Origin, as browsers do', async () => {
    const headers = { cookie: own['cookie']!, 'sec-fetch-site': 'same-origin' }
    const answer = await ask(host, { path: '/bulk/flight/1/column/2?v=3', headers })
    expect([answer.status, [...answer.body]]).toEqual([200, [1, 2]])
    expect(calls.at(-1)).toBe('bulk /bulk/flight/1/column/2?v=3')
  })
})

describe('everybody else is refused before the desk hears of it:', () => {
  const without = (...names: string[]) =>
    Object.fromEntries(Object.entries(own).filter(([name]) => !names.includes(name)))

  test.each<[string, () => Record<string, string>]>([
    ['no cookie', () => without('cookie')],
    ['a wrong cookie', () => ({ ...own, cookie: `twopack-${portOf(host)}=AAAA` })],
    [
      'the cookie of another port',
      () => ({ ...own, cookie: own['cookie']!.replace(/^twopack-\d+/, 'twopack-1') }),
    ],
    ['a foreign Origin', () => ({ ...own, origin: 'https://example.org' })],
    ['our origin with another port', () => ({ ...own, origin: 'http://127.0.0.1:1' })],
    ['an opaque Origin', () => ({ ...own, origin: 'null' })],
    ['a write without an Origin', () => without('origin')],
    ['another site, by Sec-Fetch-Site', () => ({ ...own, 'sec-fetch-site': 'cross-site' })],
    ['another port, by Sec-Fetch-Site', () => ({ ...own, 'sec-fetch-site': 'same-site' })],
    ['an address typed in, for a call', () => ({ ...own, 'sec-fetch-site': 'none' })],
    ['a name that points here', () => ({ ...own, host: `localhost:${portOf(host)}` })],
    ['a foreign Host', () => ({ ...own, host: 'example.org' })],
    ['a Host without the port', () => ({ ...own, host: '127.0.0.1' })],
  ])('%s', async (_what, headers) => {
    calls = []
    expect((await call(headers())).status).toBe(403)
    expect(calls).toEqual([])
  })

  test('a read that proves no origin', async () => {
    calls = []
    expect((await ask(host, { path: '/bulk/x', headers: without('origin', 'sec-fetch-site') })).status).toBe(
      403,
    )
    expect((await ask(host, { path: '/', headers: { 'sec-fetch-site': 'none' } })).status).toBe(403)
    expect(calls).toEqual([])
  })

  test.each(['OPTIONS', 'TRACE', 'PROPFIND'])('the method %s', async (method) => {
    calls = []
    expect((await ask(host, { method, path: '/desk/call/x', headers: own })).status).toBe(405)
    expect(calls).toEqual([])
  })

  test.each(['http://example.org/desk/call/x', '*'])('an address that is not a path: %s', async (path) => {
    expect((await ask(host, { path, headers: own, method: path === '*' ? 'OPTIONS' : 'GET' })).status).toBe(
      400,
    )
  })
})

test('a path that starts with two slashes does not name another host', async () => {
  expect((await ask(host, { path: '//example.org/desk/call/x', headers: own })).status).toBe(404)
})

test('the comparison of secrets knows equal, different and differently long', () => {
  expect(sameSecret('abc', 'abc')).toBe(true)
  expect(sameSecret('abd', 'abc')).toBe(false)
  expect(sameSecret('ab', 'abc')).toBe(false)
  expect(sameSecret('', 'abc')).toBe(false)
})
