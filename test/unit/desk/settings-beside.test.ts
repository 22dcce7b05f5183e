import { mkdirSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterEach, beforeEach, expect, test } from 'vitest'
import { streamLineSchema, type StreamLine } from '../../../electron/desk/contract/calls.ts'
import type { FlightDetail, Incoming } from '../../../electron/desk/contract/schemas.ts'
import { createDesk } from '../../../electron/desk/desk.ts'
import type { Desk } from '../../../electron/desk/desk-types.ts'
import { logOfSheet, settingsBeside } from '../../../electron/intake/settings-beside.ts'
import * as v from 'valibot'

let home: string
let card: string
let desk: Desk
beforeEach(async () => {
  home = mkdtempSync(join(tmpdir(), 'twopack-beside-'))
  card = join(home, 'card')
  mkdirSync(card)
  desk = await createDesk({ home: join(home, 'data'), demo: false })
})
afterEach(async () => {
  await desk.close()
  rmSync(home, { recursive: true, force: true })
})

const LOG = `time (s),gyro roll (deg/s)\n${Array.from({ length: 500 }, (_, row) => `${row / 100},${(50 * Math.sin(row / 8)).toFixed(3)}`).join('\n')}\n`
const SHEET = 'roll P = 4\r\npitch P = 5\r\n'

async function streamed<T>(name: string, body: unknown): Promise<T> {
  const response = await desk.handle(
    new Request(`http://desk/desk/stream/${name}`, { method: 'POST', body: JSON.stringify(body) }),
  )
  const lines = (await response.text()).trim().split('\n')
  const last: StreamLine = v.parse(streamLineSchema, JSON.parse(lines.at(-1)!))
  return (last as { value: T }).value
}
const put = (name: string, text: string) => {
  writeFileSync(join(card, name), text)
  return join(card, name)
}
const indexed = async (path: string, settings?: { name: string; text: string } | null) => {
  const { incomingId } = await streamed<Incoming>('incoming.open', { path })
  const { flight } = await streamed<{ flight: FlightDetail }>('incoming.index', {
    incomingId,
    assignments: null,
    ...(settings === undefined ? {} : { settings }),
  })
  return flight
}

test('a sheet of the log’s own name is offered and kept verbatim, and it is said why', async () => {
  const path = put('one.csv', LOG)
  put('one.settings.txt', SHEET)
  const found = await streamed<Incoming>('incoming.open', { path })
  expect(found.settings).toEqual({
    name: 'one.settings.txt',
    text: SHEET,
    how: 'Found beside one.csv: it has the log’s own name and holds settings.'.replace('’', "'"),
  })
  expect((await indexed(path)).settings).toEqual(found.settings)
})

test('it can be declined, or another given', async () => {
  const path = put('one.csv', LOG)
  put('one.ini', '[roll]\np = 4\ni = 3')
  expect((await indexed(path, null)).settings).toBeNull()
  const other = put('two.csv', LOG.replace('50', '51'))
  put('two.ini', '[roll]\np = 4\ni = 3')
  expect((await indexed(other, { name: 'mine', text: 'a = 1' })).settings).toEqual({
    name: 'mine',
    text: 'a = 1',
  })
})

test('what holds no settings, is another log, is too large or is a folder is no sheet', async () => {
  const path = put('one.csv', LOG)
  put('one.txt', LOG)
  put('one.cfg', 'only words\nin here')
  put('one.ini', 'a = 1\n'.repeat(60_000))
  mkdirSync(join(card, 'one.settings'))
  expect(await settingsBeside(path)).toBeNull()
  expect(await logOfSheet(join(card, 'one.txt'), ['one.csv', 'one.txt'])).toBeNull()
  expect(await settingsBeside(join(home, 'nowhere', 'one.csv'))).toBeNull()
})

test('a watched folder keeps the sheets with their logs, and does not call them logs', async () => {
  put('one.csv', LOG)
  const sheet = put('one.settings.txt', SHEET)
  const call = async (name: string, body: unknown) => {
    const reply = await desk.handle(
      new Request(`http://desk/desk/call/${name}`, { method: 'POST', body: JSON.stringify(body) }),
    )
    return (await reply.json()).value
  }
  await call('folders.watch', { path: card })
  await expect
    .poll(async () => (await call('folders.list', {})).folders[0], { timeout: 20_000 })
    .toMatchObject({
      state: 'watching',
      logs: 1,
      refused: [{ path: sheet, problem: 'No log: the settings sheet of one.csv.' }],
    })
  const { flights } = await call('logbook.list', {})
  expect((await call('flight.get', { flightId: flights[0].id })).settings.text).toBe(SHEET)
})
