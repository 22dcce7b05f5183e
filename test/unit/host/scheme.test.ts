import { writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { afterAll, expect, test } from 'vitest'
import { SECURITY_HEADERS } from '../../../electron/host/headers.ts'
import { answerScheme, SCHEME_ORIGIN } from '../../../electron/host/scheme.ts'
import { placeWindow, readWindowState, writeWindowState } from '../../../electron/main/window-state.ts'
import type { Desk } from '../../../electron/desk/desk-types.ts'
import { deskOf, PAGE, windowFolder } from './support.ts'

const folder = windowFolder()
afterAll(() => folder.remove())

const lines: string[] = []
const ask = (path: string, init?: RequestInit, desk: Partial<Desk> = {}) =>
  answerScheme(new Request(`${SCHEME_ORIGIN}${path}`, init), deskOf(desk), folder.root, (line) =>
    lines.push(line),
  )

test('the scheme serves the same layout as the loopback host', async () => {
  const desk: Partial<Desk> = {
    handle: async (request) =>
      Response.json({ asked: new URL(request.url).pathname, body: await request.text() }),
    bulk: async (path) =>
      path === '/bulk/flight/1/column/2?v=3'
        ? { status: 200, parts: [new Uint8Array([1]), new Uint8Array([2, 3])], byteLength: 3 }
        : null,
  }
  expect(await (await ask('/')).text()).toBe(PAGE)
  expect(await (await ask('/desk/call/x', { method: 'POST', body: '{}' }, desk)).json()).toEqual({
    asked: '/desk/call/x',
    body: '{}',
  })
  const bulk = await ask('/bulk/flight/1/column/2?v=3', {}, desk)
  expect([...new Uint8Array(await bulk.arrayBuffer())]).toEqual([1, 2, 3])
  expect((await ask('/bulk/x', {}, desk)).status).toBe(404)
  expect((await ask('/bulk/x', { method: 'POST' }, desk)).status).toBe(405)
  expect((await ask('/', { method: 'POST' })).status).toBe(405)
  expect((await ask('/..%2fsecret.txt')).status).toBe(404)
})

test('another host of the scheme is not ours', async () => {
  const request = new Request('twopack://other/desk/call/x')
  expect((await answerScheme(request, deskOf({}), folder.root, () => undefined)).status).toBe(404)
})

test('every answer carries the security headers, faults included, and the desk cannot loosen them', async () => {
  const loose = {
    handle: async () => new Response('', { headers: { 'content-security-policy': 'default-src *' } }),
  }
  const answers = [
    await ask('/'),
    await ask('/nothing'),
    await ask('/desk/x'),
    await ask('/desk/x', {}, loose),
  ]
  expect(answers.map((answer) => answer.status)).toEqual([200, 404, 500, 200])
  for (const answer of answers) {
    for (const [name, value] of Object.entries(SECURITY_HEADERS)) expect(answer.headers.get(name)).toBe(value)
  }
  expect(lines).toEqual([expect.stringContaining('GET /desk/x: Error: handle was not expected')])
})

test('cancelling an answer reaches the desk', async () => {
  let cancelled = false
  const body = new ReadableStream({ cancel: () => void (cancelled = true) })
  const answer = await ask('/desk/stream/x', { method: 'POST' }, { handle: async () => new Response(body) })
  await answer.body?.cancel()
  expect(cancelled).toBe(true)
})

test('the window comes back where it was, unless that is on no screen any more', () => {
  const screens = [{ x: 0, y: 0, width: 1920, height: 1080 }]
  const state = { bounds: { x: 100, y: 50, width: 1400, height: 900 }, maximized: false }
  expect(placeWindow(null, screens)).not.toHaveProperty('x')
  expect(placeWindow(state, screens)).toEqual(state.bounds)
  const away = { ...state, bounds: { ...state.bounds, x: 2500 } }
  expect(placeWindow(away, screens)).toEqual({ width: 1400, height: 900 })
  expect(placeWindow(away, [...screens, { x: 1920, y: 0, width: 1920, height: 1080 }])).toEqual(away.bounds)
  expect(placeWindow({ ...state, bounds: { x: 0, y: 0, width: 1, height: 1 } }, screens)).toMatchObject({
    width: 1024,
  })
})

test('the kept place is read back, and anything else in its file is nobody’s problem', () => {
  const path = join(folder.root, 'window.json')
  const state = { bounds: { x: -5, y: 50, width: 1400, height: 900 }, maximized: true }
  expect(readWindowState(path)).toBeNull()
  writeWindowState(path, state)
  expect(readWindowState(path)).toEqual(state)
  for (const text of ['', '{', 'null', '{"maximized":true}', '{"maximized":true,"bounds":{"x":"1"}}']) {
    writeFileSync(path, text)
    expect(readWindowState(path)).toBeNull()
  }
})
