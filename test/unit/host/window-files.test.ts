import { afterAll, beforeAll, describe, expect, test } from 'vitest'
import { contentType } from '../../../electron/host/content-types.ts'
import { CONTENT_SECURITY_POLICY } from '../../../electron/host/headers.ts'
import { pathInside } from '../../../electron/host/window-files.ts'
import type { Loopback } from '../../../electron/loopback.ts'
import { ask, enter, OUTSIDE, PAGE, serve, windowFolder } from './support.ts'

const folder = windowFolder()
let host: Loopback
let own: Record<string, string>

beforeAll(async () => {
  host = await serve({}, folder.root)
  own = await enter(host)
})
afterAll(async () => {
  await host.close()
  folder.remove()
})

const get = (path: string, method = 'GET') => ask(host, { method, path, headers: own })

describe('window files', () => {
  test('come with their type, length and how long to keep them', async () => {
    const page = await get('/')
    expect(page.body.toString()).toBe(PAGE)
    expect(page.headers).toMatchObject({
      'content-type': 'text/html; charset=utf-8',
      'content-length': String(PAGE.length),
      'cache-control': 'no-cache',
    })
    const script = await get('/assets/main-a1b2c3.js')
    expect(script.headers).toMatchObject({
      'content-type': 'text/javascript; charset=utf-8',
      'cache-control': 'private, max-age=31536000, immutable',
    })
    expect((await get('/two%20words.txt')).body.toString()).toBe('two words')
  })

  test('can only be read', async () => {
    expect((await get('/', 'POST')).status).toBe(405)
    const head = await get('/', 'HEAD')
    expect([head.status, head.body.byteLength, head.headers['content-length']]).toEqual([
      200,
      0,
      String(PAGE.length),
    ])
  })

  test.each(['/nothing.js', '/assets', '/assets/', '/index.html/x', `/${'x'.repeat(300)}`])(
    '404: %s',
    async (path) => {
      expect((await get(path)).status).toBe(404)
    },
  )
})

describe('a path out of the folder finds nothing', () => {
  test.each([
    '/../secret.txt',
    '/assets/../../secret.txt',
    '/%2e%2e/secret.txt',
    '/%2e%2e%2fsecret.txt',
    '/..%2fsecret.txt',
    '/..%5csecret.txt',
    '/assets/..%2f..%2fsecret.txt',
    '/..%2fwindow-other%2fsecret.txt',
    '/%252e%252e%252fsecret.txt',
    '/%2fetc%2fpasswd',
    '/index.html%00.txt',
    '/%ff',
    '/%',
  ])('%s', async (path) => {
    const answer = await get(path)
    expect(answer.status).toBe(404)
    expect(answer.body.toString()).not.toContain(OUTSIDE)
  })

  test('the folder itself and a sibling that starts like it are outside', () => {
    expect(pathInside('/srv/window', '/')).toBeNull()
    expect(pathInside('/srv/window', '/%2e%2e/window-other/secret.txt')).toBeNull()
    expect(pathInside('/srv/window', '/a/b.js')).toBe('/srv/window/a/b.js')
  })
})

test('every answer carries the security headers, refusals and faults included', async () => {
  const answers = [
    await get('/'),
    await get('/nothing'),
    await ask(host, { path: '/' }),
    await ask(host, { path: '/?token=x' }),
    await ask(host, { path: new URL(host.address('once')).search.replace(/^/, '/') }),
    await get('/bulk/x'), // the test's desk throws: an unexpected fault
  ]
  expect(answers.map((answer) => answer.status)).toEqual([200, 404, 403, 403, 303, 500])
  for (const { headers } of answers) {
    expect(headers).toMatchObject({
      'content-security-policy': CONTENT_SECURITY_POLICY,
      'cross-origin-opener-policy': 'same-origin',
      'cross-origin-embedder-policy': 'require-corp',
      'cross-origin-resource-policy': 'same-origin',
      'x-content-type-options': 'nosniff',
      'referrer-policy': 'no-referrer',
    })
    expect(headers['access-control-allow-origin']).toBeUndefined()
  }
})

test('the policy allows neither inline script nor eval nor other origins', () => {
  expect(CONTENT_SECURITY_POLICY).toContain("default-src 'none'")
  expect(CONTENT_SECURITY_POLICY).not.toMatch(/unsafe-inline|'unsafe-eval'|\*|https?:/)
})

test('a type for what the window is made of, plain bytes for the rest', () => {
  expect(contentType('a.WASM')).toBe('application/wasm')
  expect(contentType('a.svg')).toBe('image/svg+xml')
  expect(contentType('a.exe')).toBe('application/octet-stream')
})
