/** Watched folders: new logs come in, moved ones are known again, changed and missing ones are shown as such. */
import {
  appendFileSync,
  existsSync,
  mkdirSync,
  mkdtempSync,
  renameSync,
  rmSync,
  utimesSync,
  writeFileSync,
} from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterEach, beforeEach, describe, expect, test, vi } from 'vitest'
import type { WatchedFolder } from '../../../electron/desk/contract/folders.ts'
import type { FlightSummary } from '../../../electron/desk/contract/schemas.ts'
import { createDesk } from '../../../electron/desk/desk.ts'
import type { Desk } from '../../../electron/desk/desk-types.ts'

let root: string
let card: string
let desk: Desk
let logged: string[]
const start = async () => {
  desk = await createDesk({ home: join(root, 'home'), demo: false, log: (line) => logged.push(line) })
}
beforeEach(async () => {
  root = mkdtempSync(join(tmpdir(), 'twopack-folders-'))
  card = join(root, 'card')
  mkdirSync(join(card, 'lantern', 'day 2'), { recursive: true })
  logged = []
  await start()
})
afterEach(async () => {
  await desk.close()
  rmSync(root, { recursive: true, force: true })
  expect(logged).toEqual([])
})

async function call(name: string, body: unknown) {
  const response = await desk.handle(
    new Request(`http://desk/desk/call/${name}`, { method: 'POST', body: JSON.stringify(body) }),
  )
  return response.json()
}
const flights = async (): Promise<FlightSummary[]> => (await call('logbook.list', {})).value.flights
const named = async (name: string) => (await flights()).find((flight) => flight.name === name)
const folder = async (): Promise<WatchedFolder> => (await call('folders.list', {})).value.folders[0]
const until = (check: () => Promise<unknown>) =>
  vi.waitFor(async () => expect(await check()).toBeTruthy(), { timeout: 20_000, interval: 100 })
const settled = () => until(async () => ['watching', 'failed'].includes((await folder()).state))

function log(seed: number, rows = 300): string {
  const lines = Array.from(
    { length: rows },
    (_, row) => `${row / 100},${(40 * Math.sin(row / 9 + seed)).toFixed(3)}`,
  )
  return `time (s),gyro roll (deg/s)\n${lines.join('\n')}\n`
}

/** Writes a file that was last changed a minute ago, so that it counts as settled. */
function put(path: string, text: string): void {
  writeFileSync(path, text)
  age(path)
}
let seconds = 0
function age(path: string): void {
  const at = Date.now() / 1000 - 60 + (seconds += 1) / 100
  utimesSync(path, at, at)
}

async function watchCard(): Promise<void> {
  const reply = await call('folders.watch', { path: card })
  expect(reply.ok).toBe(true)
  await settled()
}
async function lookAgain(): Promise<void> {
  await call('folders.look', { path: card })
  await settled()
}

describe('a watched folder', () => {
  test('brings its logs in, all levels, and says which files are none', async () => {
    put(join(card, 'one.csv'), log(1))
    put(join(card, 'lantern', 'two.csv'), log(2))
    put(join(card, 'lantern', 'day 2', 'three.csv'), log(3))
    put(join(card, 'readme.txt'), 'Nothing to see here.\n')
    put(join(card, 'picture.png'), 'x')
    await watchCard()
    const found = await flights()
    expect(found.map(({ name, craft, source }) => [name, craft, source]).sort()).toEqual([
      ['one', '', 'here'],
      ['three', 'day 2', 'here'],
      ['two', 'lantern', 'here'],
    ])
    expect(await folder()).toMatchObject({ path: card, state: 'watching', logs: 3, message: '' })
    expect((await folder()).refused).toEqual([
      { path: join(card, 'readme.txt'), problem: expect.stringMatching(/readme\.txt/) },
    ])
  })

  test('hears of a new log by itself', async () => {
    await watchCard()
    put(join(card, 'late.csv'), log(4))
    await until(() => named('late'))
  })

  test('a file that is still written is left until it is settled', async () => {
    await watchCard()
    writeFileSync(join(card, 'growing.csv'), log(5, 200))
    await lookAgain()
    expect(await flights()).toEqual([])
    put(join(card, 'growing.csv'), log(5, 400))
    await until(async () => (await named('growing'))?.rows === 400)
    expect(await flights()).toHaveLength(1)
  })

  test('a moved log is known again by its content, a missing one is shown as such', async () => {
    put(join(card, 'one.csv'), log(1))
    await watchCard()
    const { id } = (await named('one'))!
    renameSync(join(card, 'one.csv'), join(root, 'elsewhere.csv'))
    await lookAgain()
    expect((await named('one'))?.source).toBe('missing')
    renameSync(join(root, 'elsewhere.csv'), join(card, 'lantern', 'renamed.csv'))
    await lookAgain()
    expect(await flights()).toMatchObject([{ id, name: 'one', source: 'here' }])
    expect(await folder()).toMatchObject({ logs: 1 })
  })

  test('a changed log is read anew; what was read before says that it changed', async () => {
    put(join(card, 'one.csv'), log(1))
    await watchCard()
    const { id } = (await named('one'))!
    appendFileSync(join(card, 'one.csv'), log(1, 100).split('\n').slice(1).join('\n'))
    age(join(card, 'one.csv'))
    await lookAgain()
    const found = await flights()
    expect(found.map(({ source }) => source).sort()).toEqual(['changed', 'here'])
    expect(found.find((flight) => flight.source === 'changed')).toMatchObject({ id, rows: 300 })
  })

  test('a flight that was removed does not come back, and its log is not touched', async () => {
    put(join(card, 'one.csv'), log(1))
    await watchCard()
    await call('flight.remove', { flightId: (await named('one'))!.id })
    renameSync(join(card, 'one.csv'), join(card, 'again.csv'))
    await lookAgain()
    expect(await flights()).toEqual([])
    expect(existsSync(join(card, 'again.csv'))).toBe(true)
  })

  test('a card that is pulled out fails with a sentence, and is taken up again', async () => {
    put(join(card, 'one.csv'), log(1))
    await watchCard()
    renameSync(card, join(root, 'pulled'))
    await lookAgain()
    expect(await folder()).toMatchObject({ state: 'failed', message: expect.stringMatching(/can’t be read/) })
    expect((await named('one'))?.source).toBe('missing')
    renameSync(join(root, 'pulled'), card)
    await lookAgain()
    expect(await folder()).toMatchObject({ state: 'watching', message: '' })
    expect((await named('one'))?.source).toBe('here')
  })

  // By a path that is longer than Linux takes: permissions mean nothing to the system's owner, and this does.
  test.skipIf(process.platform !== 'linux')(
    'a folder within that can’t be read is named, and the rest comes in',
    async () => {
      put(join(card, 'one.csv'), log(1))
      await watchCard()
      const levels = Array.from({ length: 9 }, () => 'x'.repeat(250))
      const deep = join(card, 'lantern', ...levels)
      mkdirSync(deep, { recursive: true })
      mkdirSync(join(root, 'lower', ...levels), { recursive: true })
      renameSync(join(root, 'lower'), join(deep, 'lower'))
      try {
        put(join(card, 'two.csv'), log(2))
        await lookAgain()
        const [, unread] = /^Could not be read: (.*)$/.exec((await folder()).message) ?? []
        expect(unread?.startsWith(join(deep, 'lower'))).toBe(true)
        expect((await flights()).map(({ source }) => source)).toEqual(['here', 'here'])
      } finally {
        renameSync(join(deep, 'lower'), join(root, 'lower'))
        // The system does not tell of changes there either; the folder is still looked through.
        logged = logged.filter((line) => !line.startsWith(`No news of changes in ${card}`))
      }
    },
  )

  test('is remembered, and forgotten when asked; the flights stay', async () => {
    put(join(card, 'one.csv'), log(1))
    await watchCard()
    await desk.close()
    put(join(card, 'two.csv'), log(2))
    await start()
    await until(() => named('two'))
    await call('folders.forget', { path: card })
    expect(await folder()).toBeUndefined()
    expect(await flights()).toHaveLength(2)
  })

  test('a path that is no folder is refused with a sentence', async () => {
    put(join(card, 'one.csv'), log(1))
    const said = async (path: string) => (await call('folders.watch', { path })).problem.message
    expect(await said(join(card, 'one.csv'))).toMatch(/is a file, not a folder/)
    expect(await said(join(card, 'none'))).toMatch(/can’t be read/)
    expect(await said('card')).toMatch(/whole path/)
  })
})

test('a log that was opened by its path is seen to be gone or changed at the next start', async () => {
  for (const name of ['gone', 'changed']) {
    put(join(root, `${name}.csv`), log(name.length))
    const response = await desk.handle(
      new Request('http://desk/desk/stream/incoming.open', {
        method: 'POST',
        body: JSON.stringify({ path: join(root, `${name}.csv`) }),
      }),
    )
    const { incomingId } = JSON.parse((await response.text()).trim().split('\n').at(-1)!).value
    await (
      await desk.handle(
        new Request('http://desk/desk/stream/incoming.index', {
          method: 'POST',
          body: JSON.stringify({ incomingId, assignments: null }),
        }),
      )
    ).text()
  }
  expect((await flights()).map(({ source }) => source)).toEqual(['here', 'here'])
  await desk.close()
  rmSync(join(root, 'gone.csv'))
  put(join(root, 'changed.csv'), log(9))
  await start()
  await until(async () => (await named('changed'))?.source === 'changed')
  expect((await named('gone'))?.source).toBe('missing')
})
