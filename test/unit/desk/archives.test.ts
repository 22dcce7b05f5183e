/** A whole library out of one desk and into another, as the window asks for it. */
import { mkdtempSync, readdirSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import * as v from 'valibot'
import { afterEach, beforeEach, expect, test } from 'vitest'
import {
  ARCHIVE_PATHS,
  exportPath,
  type BroughtIn,
  type MadeFile,
} from '../../../electron/desk/contract/archives.ts'
import { streamLineSchema } from '../../../electron/desk/contract/calls.ts'
import { createDesk } from '../../../electron/desk/desk.ts'
import type { Desk } from '../../../electron/desk/desk-types.ts'
import { twoFlightsLog } from '../library/two-flights.ts'

const folders: string[] = []
const desks: Desk[] = []

async function newDesk(): Promise<Desk> {
  const home = mkdtempSync(join(tmpdir(), 'twopack-archives-'))
  const desk = await createDesk({ home, demo: false })
  folders.push(home)
  desks.push(desk)
  return desk
}

let one: Desk
let other: Desk
beforeEach(async () => {
  one = await newDesk()
  other = await newDesk()
})
afterEach(async () => {
  for (const desk of desks.splice(0)) await desk.close()
  for (const folder of folders.splice(0)) rmSync(folder, { recursive: true, force: true })
})

const post = (desk: Desk, path: string, body: BodyInit) =>
  desk.handle(new Request(`http://desk${path}`, { method: 'POST', body }))

/** The last line's value, or what its problem says. */
async function lastOf(response: Response): Promise<unknown> {
  const lines = (await response.text()).trim().split('\n')
  const last = v.parse(streamLineSchema, JSON.parse(lines.at(-1)!))
  return last.line === 'value' ? last.value : last.line === 'problem' ? last.problem : null
}

async function call<T>(desk: Desk, name: string, body: object = {}): Promise<T> {
  const reply = await (await post(desk, `/desk/call/${name}`, JSON.stringify(body))).json()
  expect(reply).toMatchObject({ ok: true })
  return reply.value as T
}

const flightsOf = async (desk: Desk) =>
  (await call<{ flights: { id: number; name: string }[] }>(desk, 'logbook.list')).flights

async function addLog(desk: Desk): Promise<void> {
  const incoming = (await lastOf(await post(desk, '/desk/files?name=evening.csv', twoFlightsLog()))) as {
    incomingId: string
  }
  await lastOf(
    await post(desk, '/desk/stream/incoming.index', JSON.stringify({ ...incoming, assignments: null })),
  )
}

async function archiveOf(desk: Desk, samples: boolean): Promise<Uint8Array<ArrayBuffer>> {
  const made = (await lastOf(
    await post(desk, '/desk/stream/library.export', JSON.stringify({ samples })),
  )) as MadeFile
  const response = await desk.handle(new Request(`http://desk${exportPath(made.exportId)}`))
  expect(response.headers.get('content-disposition')).toBe(`attachment; filename="${made.fileName}"`)
  const bytes = new Uint8Array(await response.arrayBuffer())
  expect(bytes.byteLength).toBe(made.bytes)
  return bytes
}

const bringIn = async (desk: Desk, archive: Uint8Array<ArrayBuffer>) =>
  (await lastOf(await post(desk, ARCHIVE_PATHS.archive, archive))) as BroughtIn

test('with samples: the flights are there and their columns too; taken back and brought in again', async () => {
  await addLog(one)
  const archive = await archiveOf(one, true)
  const told = await bringIn(other, archive)
  expect(told).toMatchObject({ flights: { added: 2, known: 0 }, withoutSamples: 0 })
  const flights = await flightsOf(other)
  expect(flights.map(({ name }) => name)).toEqual((await flightsOf(one)).map(({ name }) => name))
  const column = async (desk: Desk, id: number) =>
    Buffer.concat([...(await desk.bulk(`/bulk/flight/${id}/column/1?v=x`))!.parts])
  expect(await column(other, flights[0]!.id)).toEqual(await column(one, (await flightsOf(one))[0]!.id))
  expect(await bringIn(other, archive)).toMatchObject({ flights: { added: 0, known: 2 } })

  await call(other, 'library.takeBack', { importId: told.importId })
  expect(await flightsOf(other)).toEqual([])
  const again = await post(
    other,
    '/desk/stream/library.importAgain',
    JSON.stringify({ importId: told.importId }),
  )
  expect(await lastOf(again)).toMatchObject({ flights: { added: 2 } })
  expect(await flightsOf(other)).toHaveLength(2)
})

test('without samples: the flights are known, and their log brings the samples', async () => {
  await addLog(one)
  expect(await bringIn(other, await archiveOf(one, false))).toMatchObject({
    flights: { added: 2 },
    withoutSamples: 1,
  })
  const [flight] = await flightsOf(other)
  expect((await other.bulk(`/bulk/flight/${flight!.id}/column/1?v=x`))!.status).toBe(404)
  await addLog(other)
  expect(await flightsOf(other)).toHaveLength(2)
  const bulk = await other.bulk(`/bulk/flight/${flight!.id}/column/1?v=x`)
  expect(bulk!.status).toBe(200)
  expect(bulk!.byteLength).toBeGreaterThan(1000)
})

test('what is no archive is refused, and nothing stays of it', async () => {
  const refused = await lastOf(await post(other, ARCHIVE_PATHS.archive, 'hello'))
  expect(refused).toMatchObject({ code: 'cannot-read', message: expect.stringMatching(/no whole archive/) })
  expect(readdirSync(join(folders[1]!, 'archives'))).toEqual([])
  expect((await other.handle(new Request(`http://desk${ARCHIVE_PATHS.exports}nothing`))).status).toBe(404)
})

test('the measures of all flights as a table, computed once', async () => {
  await addLog(one)
  const table = async () => {
    const made = (await lastOf(await post(one, '/desk/stream/library.measures', '{}'))) as MadeFile
    return (await one.handle(new Request(`http://desk${exportPath(made.exportId)}`))).text()
  }
  const first = await table()
  const [head = '', ...rows] = first.trim().split('\r\n')
  expect(head).toContain('roll: Gyro, RMS (deg/s)')
  expect(head).toContain('roll: Bounce-back, by manoeuvre (deg/s)')
  expect(rows).toHaveLength(2)
  // The made log's roll is 120 sin and 3 sin: sqrt((120² + 3²) / 2) = 84.9 deg/s in the air.
  for (const row of rows) expect(row).toMatch(/,8[45]\.\d+,/)
  expect(await table()).toBe(first)
})
