import { existsSync, mkdtempSync, readdirSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { gzipSync } from 'node:zlib'
import * as v from 'valibot'
import { afterEach, beforeEach, describe, expect, test } from 'vitest'
import {
  CALLS,
  columnPath,
  levelPath,
  samplePath,
  streamLineSchema,
  type StreamLine,
} from '../../../electron/desk/contract/calls.ts'
import { createDesk } from '../../../electron/desk/desk.ts'
import type { Desk } from '../../../electron/desk/desk-types.ts'
import { FLOWN_S, LENGTH_S, RATE_HZ, twoFlightsLog } from '../library/two-flights.ts'

let home: string
let desk: Desk
let logged: string[]
beforeEach(async () => {
  home = mkdtempSync(join(tmpdir(), 'twopack-desk-'))
  logged = []
  desk = await createDesk({ home, demo: false, log: (line) => logged.push(line) })
})
afterEach(async () => {
  await desk.close()
  rmSync(home, { recursive: true, force: true })
  expect(logged).toEqual([])
})

const ROWS = 500
const rows = Array.from(
  { length: ROWS },
  (_, index) => `${index / 100},${(50 * Math.sin(index / 8)).toFixed(3)}`,
)
const LOG = `time (s),gyro roll (deg/s)\n${rows.join('\n')}\n`

async function call(name: string, body: unknown) {
  const response = await desk.handle(
    new Request(`http://desk/desk/call/${name}`, { method: 'POST', body: JSON.stringify(body) }),
  )
  return { status: response.status, reply: await response.json() }
}

async function linesOf(response: Response): Promise<StreamLine[]> {
  const text = await response.text()
  return text
    .trim()
    .split('\n')
    .map((line) => v.parse(streamLineSchema, JSON.parse(line)))
}

const send = async (name: string, text: string) =>
  linesOf(
    await desk.handle(
      new Request(`http://desk/desk/files?name=${encodeURIComponent(name)}`, { method: 'POST', body: text }),
    ),
  )

const streamed = async (name: string, body: unknown, signal?: AbortSignal) =>
  desk.handle(
    new Request(`http://desk/desk/stream/${name}`, {
      method: 'POST',
      body: JSON.stringify(body),
      ...(signal ? { signal } : {}),
    }),
  )

const last = (lines: StreamLine[]) =>
  lines.at(-1) as { line: string; value?: unknown; problem?: { code: string } }

async function added(text = LOG, name = 'one.csv') {
  const incoming = last(await send(name, text)).value as { incomingId: string }
  const lines = await linesOf(
    await streamed('incoming.index', { incomingId: incoming.incomingId, assignments: null }),
  )
  return (last(lines).value as { flight: unknown }).flight as {
    id: number
    contentHash: string
    reading: string
    columns: { index: number; type: string }[]
  }
}

describe('a file on its way in', () => {
  test('is looked at, indexed, and its samples come back bit for bit', async () => {
    const flight = await added()
    const { reply } = await call('logbook.list', {})
    expect(v.parse(CALLS['logbook.list'].response, reply.value).flights).toHaveLength(1)
    const bulk = await desk.bulk(columnPath(flight.id, 1, flight.contentHash))
    expect(bulk?.status).toBe(200)
    const bytes = Buffer.concat(bulk!.parts)
    expect(bytes.byteLength).toBe(bulk!.byteLength)
    const samples = new Float32Array(new Uint8Array(bytes).buffer)
    expect([...samples]).toEqual(rows.map((row) => Math.fround(Number(row.split(',')[1]))))
    expect(readdirSync(join(home, 'incoming'))).toEqual([])
  })

  test('has the extremes of its blocks stored and served, of the clock the blocks’ first stamps', async () => {
    const flight = await added()
    const gyro = rows.map((row) => Math.fround(Number(row.split(',')[1])))
    const blocks = Array.from({ length: Math.ceil(ROWS / 64) }, (_, block) =>
      gyro.slice(64 * block, 64 * (block + 1)),
    )
    const level = await desk.bulk(levelPath(flight.id, 1, flight.contentHash))
    const both = [...new Float32Array(new Uint8Array(Buffer.concat(level!.parts)).buffer)]
    expect(both).toEqual([
      ...blocks.map((block) => Math.min(...block)),
      ...blocks.map((block) => Math.max(...block)),
    ])
    const clock = await desk.bulk(levelPath(flight.id, 0, flight.contentHash))
    const stamps = [...new Float64Array(new Uint8Array(Buffer.concat(clock!.parts)).buffer)]
    expect(stamps).toEqual(blocks.map((_, block) => (64 * block) / 100))
    expect((await desk.bulk(levelPath(flight.id, 7, flight.contentHash)))?.status).toBe(404)
  })

  test('leaves nothing behind when it can not be read', async () => {
    expect(last(await send('empty.csv', '')).problem?.code).toBe('empty-file')
    const incoming = last(await send('late.csv', LOG + '5.00,oops\n5.01,1\n')).value as
      { incomingId: string } | undefined
    if (incoming) {
      const lines = await linesOf(await streamed('incoming.index', { ...incoming, assignments: null }))
      expect(last(lines).problem?.code).toBe('bad-number')
      await call('incoming.discard', { incomingId: incoming.incomingId })
    }
    expect(readdirSync(join(home, 'incoming'))).toEqual([])
    expect(readdirSync(join(home, 'columns'))).toEqual([])
    expect((await call('logbook.list', {})).reply.value.flights).toEqual([])
  })

  test('is known again by its content under another name', async () => {
    const { id } = await added()
    expect(last(await send('two.csv', LOG)).value).toMatchObject({ known: { flightId: id, name: 'one' } })
  })

  test('opened by its path it is only read', async () => {
    const path = join(home, 'mine.csv')
    writeFileSync(path, LOG)
    const opened = last(await linesOf(await streamed('incoming.open', { path }))).value as {
      incomingId: string
    }
    await linesOf(await streamed('incoming.index', { incomingId: opened.incomingId, assignments: null }))
    expect(existsSync(path)).toBe(true)
    expect((await call('logbook.list', {})).reply.value.flights[0].name).toBe('mine')
  })

  test('a folder is refused with a sentence', async () => {
    expect(last(await linesOf(await streamed('incoming.open', { path: home }))).problem).toMatchObject({
      code: 'not-a-file',
    })
  })
})

describe('the contract', () => {
  test('what does not fit is refused with a sentence, not answered', async () => {
    expect((await call('flight.get', { flightId: 'one' })).reply).toMatchObject({
      ok: false,
      problem: { code: 'bad-request' },
    })
    expect((await call('flight.get', { flightId: 99 })).status).toBe(404)
    const flight = await added()
    const { reply } = await call('flight.assign', { flightId: flight.id, assignments: [] })
    expect(reply.problem.message).toMatch(/time column is needed/)
  })

  test('unknown addresses and other methods are refused', async () => {
    expect(
      (await desk.handle(new Request('http://desk/desk/call/toString', { method: 'POST' }))).status,
    ).toBe(404)
    expect((await desk.handle(new Request('http://desk/desk/call/logbook.list'))).status).toBe(405)
    expect(await desk.bulk('/bulk/flight/1/else')).toBeNull()
    expect((await desk.bulk('/bulk/flight/77/column/0'))?.status).toBe(404)
  })

  test('a watcher hears of changes until it goes away', async () => {
    const stop = new AbortController()
    const response = await streamed('logbook.watch', {}, stop.signal)
    const reader = response.body!.pipeThrough(new TextDecoderStream()).getReader()
    const next = reader.read()
    await added()
    expect((await next).value).toContain('changed')
    stop.abort()
    await reader.cancel()
  })

  test('kept state comes back', async () => {
    await call('kept.set', { key: 'session', value: '{"screen":"logbook"}' })
    expect((await call('kept.get', { key: 'session' })).reply.value).toEqual({
      value: '{"screen":"logbook"}',
    })
    expect((await call('kept.get', { key: 'other' })).reply.value).toEqual({ value: null })
  })
})

describe('a log with several flights', () => {
  test('is listed as several, each with its own rows', async () => {
    await added(twoFlightsLog(), 'pack.csv')
    const { reply } = await call('logbook.list', {})
    const { flights } = v.parse(CALLS['logbook.list'].response, reply.value)
    expect(flights.map(({ name }) => name)).toEqual(['pack, flight 1 of 2', 'pack, flight 2 of 2'])
    for (const [index, { id, span, rows: count, duration_s }] of flights.entries()) {
      expect(duration_s).toBeCloseTo(FLOWN_S[index]!.t1_s - FLOWN_S[index]!.t0_s, 0)
      const detail = (await call('flight.get', { flightId: id })).reply.value
      const bulk = await desk.bulk(columnPath(id, 0, detail.contentHash))
      const time = new Float64Array(new Uint8Array(Buffer.concat(bulk!.parts)).buffer)
      expect(time).toHaveLength(count)
      expect(time[0]).toBeCloseTo(span!.t0_s, 6)
      expect(time.at(-1)).toBeCloseTo(span!.t1_s, 6)
      // Its first picture begins with the block in which it begins.
      const level = await desk.bulk(levelPath(id, 0, detail.contentHash))
      const firsts = new Float64Array(new Uint8Array(Buffer.concat(level!.parts)).buffer)
      expect(firsts[0]).toBeLessThanOrEqual(time[0]!)
      expect(firsts[0]! + 64 / RATE_HZ).toBeGreaterThan(time[0]!)
      expect(firsts.at(-1)).toBeLessThanOrEqual(time.at(-1)!)
      expect(firsts.at(-1)! + 64 / RATE_HZ).toBeGreaterThanOrEqual(time.at(-1)!)
    }
    // Taking one out leaves the other whole; the columns go with the last.
    await call('flight.remove', { flightId: flights[0]!.id })
    expect(readdirSync(join(home, 'columns'))).toHaveLength(1)
    await call('flight.remove', { flightId: flights[1]!.id })
    // What was removed can be brought back until the desk is opened again.
    for (const { id } of flights) await call('flight.restore', { flightId: id })
    expect((await call('flight.get', { flightId: flights[1]!.id })).reply.value.id).toBe(flights[1]!.id)
    for (const { id } of flights) await call('flight.remove', { flightId: id })
    await desk.close()
    desk = await createDesk({ home, demo: false })
    expect(readdirSync(join(home, 'columns'))).toEqual([])
  })
})

describe('putting a flight right', () => {
  const detailOf = async (flightId: number) => (await call('flight.get', { flightId })).reply.value

  test('another meaning changes clock, health and picture of all flights of the log', async () => {
    const first = await added(twoFlightsLog(), 'pack.csv')
    const before = await detailOf(first.id)
    expect(before.log.spans.map((span: { kind: string }) => span.kind)).toEqual(['flight', 'flight', 'short'])
    const assignments = before.assignments.map((one: { role: string }) =>
      one.role === 'time' ? { ...one, unit: 'ms' } : one,
    )
    const without = assignments.filter((one: { role: string }) => one.role !== 'throttle')
    await call('flight.assign', { flightId: first.id, assignments: without })
    const { flights } = (await call('logbook.list', {})).reply.value
    for (const flight of flights) {
      const after = await detailOf(flight.id)
      expect(after.clock.effectiveRate_hz).toBeCloseTo(1000 * before.clock.effectiveRate_hz, -1)
      expect(after.duration_s).toBeCloseTo(flight.id === first.id ? before.duration_s / 1000 : 0.03, 4)
      expect(after.activity.power_percent).toBeNull()
      expect(after.notices.some(({ text }: { text: string }) => text === 'No throttle was found.')).toBe(true)
    }
  })

  test('a flight is cut to another part, to the whole, and a part is added beside it', async () => {
    const { id } = await added(twoFlightsLog(), 'pack.csv')
    const cut = (await call('flight.cut', { flightId: id, span: { t0_s: 12, t1_s: 20 } })).reply.value
    expect(cut).toMatchObject({ span: { t0_s: 12, t1_s: 20 }, rows: 801 })
    const bulk = await desk.bulk(columnPath(id, 1, cut.contentHash))
    expect(bulk?.byteLength).toBe(801 * 4)
    const whole = (await call('flight.cut', { flightId: id, span: null })).reply.value
    expect(whole).toMatchObject({ span: null, rows: LENGTH_S * RATE_HZ })
    const { t0_s, t1_s } = whole.log.spans[2]
    const hop = (await call('flight.split', { flightId: id, span: { t0_s, t1_s } })).reply.value
    expect(hop.name).toMatch(/^pack, 1\d\d\.\d s to 1\d\d\.\d s$/)
    expect((await detailOf(id)).log.spans[2].flight).toEqual({ flightId: hop.id, name: hop.name })
    const refused = await call('flight.cut', { flightId: id, span: { t0_s: 900, t1_s: 901 } })
    expect(refused.reply.problem.message).toMatch(/no two rows/)
  })
})

describe('some rows before a meaning is settled', () => {
  const sampleAt = async (of: Parameters<typeof samplePath>[0], column: number) => {
    const bulk = await desk.bulk(samplePath(of, column))
    return bulk?.status === 200 ? new Float64Array(new Uint8Array(Buffer.concat(bulk.parts)).buffer) : null
  }

  test('of a waiting file are its numbers, and nothing of them stays', async () => {
    const text = `time (s);gyro roll (deg/s);word;raw\n${rows.map((row, index) => `${row.replace(',', ';')};x;${index}`).join('\n')}\n`
    const { incomingId } = last(await send('wait.csv', text)).value as { incomingId: string }
    const raw = await sampleAt({ incomingId }, 3)
    expect([...raw!]).toEqual(rows.map((_, index) => index))
    expect([...(await sampleAt({ incomingId }, 0))!]).toEqual(rows.map((_, index) => index / 100))
    expect(await sampleAt({ incomingId }, 2)).toBeNull()
    await call('incoming.discard', { incomingId })
    expect(await sampleAt({ incomingId }, 0)).toBeNull()
    expect(readdirSync(join(home, 'incoming'))).toEqual([])
  })

  test('are not waited for when the program ends', async () => {
    const { incomingId } = last(await send('wait.csv', LOG)).value as { incomingId: string }
    const asked = sampleAt({ incomingId }, 1)
    await desk.close()
    expect(await asked).toBeNull()
    desk = await createDesk({ home, demo: false, log: (line) => logged.push(line) })
  })

  test('of a packed, longer file are whole rows of its beginning', async () => {
    const many = Array.from({ length: 200_000 }, (_, row) => `${row / 1000},${(row * 7919) % 1_000_003}`)
    const packed = gzipSync(`time (s),gyro roll (deg/s)\n${many.join('\n')}\n`, { level: 0 })
    const response = await desk.handle(
      new Request('http://desk/desk/files?name=long.csv.gz', { method: 'POST', body: packed }),
    )
    const { incomingId } = last(await linesOf(response)).value as { incomingId: string }
    const time = (await sampleAt({ incomingId }, 0))!
    const roll = (await sampleAt({ incomingId }, 1))!
    expect(time).toHaveLength(4000)
    const from = Math.round(time[0]! * 1000)
    expect([...roll]).toEqual([...roll.keys()].map((row) => Math.fround(((from + row) * 7919) % 1_000_003)))
    await call('incoming.discard', { incomingId })
  })

  test('of a flight are those where it turns most', async () => {
    const { id } = await added(twoFlightsLog(), 'pack.csv')
    const roll = (await sampleAt({ flightId: id }, 1))!
    expect(Math.max(...roll)).toBeGreaterThan(100)
    expect(await sampleAt({ flightId: 999 }, 1)).toBeNull()
  })
})

describe('kept results', () => {
  const kept = async (a: unknown, more: object = {}) =>
    (await call('results.get', { a, b: null, method: 'm', version: 1, parameters: {}, ...more })).reply.value
      .value

  test('come back for the flights as they were read, alone and as pairs, and not after a meaning was changed', async () => {
    const flight = await added()
    const a = { contentHash: flight.contentHash, reading: flight.reading }
    const other = { contentHash: 'bb', reading: 'r' }
    const keep = (b: unknown, value: string) =>
      call('results.keep', { a, b, method: 'm', version: 1, parameters: {}, value })
    await keep(null, 'alone')
    await keep(other, 'pair')
    expect(await kept(a)).toBe('alone')
    expect(await kept(a, { b: other })).toBe('pair')
    expect(await kept(a, { b: { ...other, reading: 'another' } })).toBeNull()
    expect(await kept(a, { version: 2 })).toBeNull()
    const { assignments } = (await call('flight.get', { flightId: flight.id })).reply.value
    const turned = assignments.map((one: { role: string }) =>
      one.role === 'gyro.roll' ? { ...one, sign: -1 } : one,
    )
    const changed = (await call('flight.assign', { flightId: flight.id, assignments: turned })).reply.value
    expect(changed.reading).not.toBe(flight.reading)
    expect(await kept({ contentHash: changed.contentHash, reading: changed.reading })).toBeNull()
  })

  test('of a log that is not in the logbook are not kept, and that is no fault', async () => {
    const gone = { contentHash: 'cc', reading: 'r' }
    const { status } = await call('results.keep', {
      a: gone,
      b: null,
      method: 'm',
      version: 1,
      parameters: {},
      value: '1',
    })
    expect(status).toBe(200)
    expect(await kept(gone)).toBeNull()
  })
})
