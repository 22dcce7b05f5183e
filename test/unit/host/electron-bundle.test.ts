import { spawn, spawnSync } from 'node:child_process'
import { createInterface } from 'node:readline'
import {
  existsSync,
  mkdirSync,
  mkdtempSync,
  openSync,
  readFileSync,
  readSync,
  rmSync,
  writeFileSync,
} from 'node:fs'
import { tmpdir } from 'node:os'
import { join, resolve } from 'node:path'
import { afterAll, beforeAll, describe, expect, test } from 'vitest'
import { ensureBuilt, MAIN, WINDOW } from '../../../electron/build.ts'
import { readWindowState } from '../../../electron/main/window-state.ts'

const PROJECT = resolve(import.meta.dirname, '../../..')
let folder: string
beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 'twopack-bundle-'))
  await ensureBuilt([WINDOW, MAIN], () => undefined)
}, 120_000)
afterAll(() => rmSync(folder, { recursive: true, force: true }))

/** Runs the built main process by Node, with a stand-in for Electron's module. */
function runMain(args: readonly string[]) {
  const standIn = join(import.meta.dirname, 'electron-stand-in.mjs')
  const hook = `import { registerHooks } from 'node:module'
    registerHooks({ resolve: (name, context, next) =>
      name === 'electron' ? { url: new URL(${JSON.stringify(`file://${standIn}`)}).href, shortCircuit: true } : next(name, context) })`
  const child = spawn(
    process.execPath,
    [
      '--import',
      `data:text/javascript,${encodeURIComponent(hook)}`,
      join(PROJECT, MAIN.out, 'main.js'),
      PROJECT,
      ...args,
    ],
    { env: { ...process.env, STAND_IN_APP_PATH: PROJECT }, stdio: ['pipe', 'pipe', 'pipe'] },
  )
  const told: { what: string; value: unknown }[] = []
  let complaints = ''
  child.stderr.on('data', (text: Buffer) => (complaints += text.toString()))
  const waiting = new Set<() => void>()
  createInterface(child.stdout).on('line', (line) => {
    told.push(JSON.parse(line) as (typeof told)[number])
    for (const look of waiting) look()
  })
  const exit = new Promise<number | null>((ended) => child.once('close', ended))
  const all = (what: string) => told.filter((line) => line.what === what).map((line) => line.value)
  const next = (what: string, count = 1) =>
    new Promise<unknown>((found, missed) => {
      const look = () => {
        if (all(what).length >= count) found(all(what)[count - 1])
      }
      waiting.add(look)
      look()
      void exit.then((code) => missed(new Error(`ended with ${code} before "${what}": ${complaints}`)))
    })
  return {
    all,
    next,
    exit,
    say: (line: string) => child.stdin.write(`${line}\n`),
    complaints: () => complaints,
  }
}

describe('the built main process, with a stand-in for Electron', () => {
  test('opens one locked-down window on the page, answers by the desk, and ends with 0', async () => {
    const home = join(folder, 'home')
    const program = runMain(['--home', home, '--no-demo', '/logs/a b.csv'])
    expect(await program.next('loaded')).toMatchObject({
      url: 'twopack://app/#open=%2Flogs%2Fa+b.csv',
      status: 200,
      text: expect.stringContaining('<!doctype html>'),
    })
    expect(program.all('schemes')).toEqual([
      [
        {
          scheme: 'twopack',
          privileges: expect.objectContaining({ standard: true, secure: true, stream: true }),
        },
      ],
    ])
    expect(program.all('path')).toEqual([['userData', join(home, 'electron')]])
    expect(program.all('window')).toEqual([
      expect.objectContaining({
        webPreferences: expect.objectContaining({
          sandbox: true,
          contextIsolation: true,
          nodeIntegration: false,
        }),
      }),
    ])
    expect(program.all('window')[0]).not.toHaveProperty('webPreferences.preload')
    expect(program.all('window-open')).toEqual([{ action: 'deny' }])
    expect(program.all('navigation-prevented')).toEqual([true])
    expect(program.all('permission')).toEqual([
      ['media', false],
      ['clipboard-read', false],
      ['clipboard-sanitized-write', true],
    ])
    expect(program.all('request')).toEqual([
      ['https://example.org/', true],
      ['twopack://app/x', false],
      ['twopack://other/', true],
      ['blob:twopack://app/1', false],
    ])
    program.say('/desk/call/logbook.list')
    expect(await program.next('answer')).toMatchObject({ ok: true, value: { flights: [] } })
    program.say('close')
    expect(await program.exit, program.complaints()).toBe(0)
    expect(readWindowState(join(home, 'window.json'))).toEqual({
      bounds: { x: 1, y: 2, width: 1300, height: 800 },
      maximized: false,
    })
  }, 60_000)

  test('finds its built threads: an invented flight is made by one and read by another', async () => {
    const program = runMain(['--home', join(folder, 'demo')])
    await program.next('loaded')
    interface Answer {
      ok: boolean
      value: { flights: unknown[]; demo: { state: string } }
    }
    let answer: Answer | null = null
    for (let asked = 1; asked < 450; asked++) {
      program.say('/desk/call/logbook.list')
      answer = (await program.next('answer', asked)) as Answer
      if (answer.value.flights.length > 0 || answer.value.demo.state === 'failed') break
      await new Promise((resolve) => setTimeout(resolve, 200))
    }
    expect(answer?.value.flights.length).toBeGreaterThan(0)
    program.say('close')
    expect(await program.exit, program.complaints()).toBe(0)
  }, 120_000)

  test('stops at a data folder that another program has open', async () => {
    const home = join(folder, 'shared')
    const first = runMain(['--home', home, '--no-demo'])
    await first.next('loaded')
    const second = runMain(['--home', home, '--no-demo'])
    expect(await second.next('error-box')).toContain(home)
    expect(await second.exit).toBe(2)
    first.say('close')
    expect(await first.exit).toBe(0)
  }, 60_000)
})

describe.skipIf(process.platform !== 'linux')('what is packed', () => {
  // Electron's fuses (electron/fuses, "Fuse Wire"): this sentinel, a version, a count, then one byte for each fuse.
  const SENTINEL = 'dL7pKGdnNz796PbbjQWNKmHXBZaB9tsX'

  test('is the built program and the database for this platform, and the runtime’s needless powers are off', () => {
    const runtime = join(folder, 'runtime')
    const output = join(folder, 'packed')
    mkdirSync(join(runtime, 'resources'), { recursive: true })
    writeFileSync(join(runtime, 'electron'), `a stub ${SENTINEL}\x01\x09${'1'.repeat(9)} of a runtime`)
    const { status, stdout, stderr } = spawnSync(
      process.execPath,
      [
        join(PROJECT, 'node_modules/electron-builder/cli.js'),
        '--linux',
        '--dir',
        `-c.electronDist=${runtime}`,
        `-c.directories.output=${output}`,
      ],
      { cwd: PROJECT, encoding: 'utf8' },
    )
    expect(status, stdout + stderr).toBe(0)
    const unpacked = join(output, 'linux-unpacked')
    const files = filesOfArchive(join(unpacked, 'resources/app.asar'))
    const folders = new Set(files.map((file) => /^(node_modules\/[^/]+|out\/[^/]+|[^/]+)/.exec(file)?.[0]))
    expect([...folders].sort()).toEqual([
      'node_modules/better-sqlite3',
      'out/electron',
      'out/renderer',
      'package.json',
    ])
    expect(files).toEqual(
      expect.arrayContaining([
        'out/electron/main.js',
        'out/electron/intake.worker.js',
        'out/renderer/index.html',
      ]),
    )
    const native = files.filter((file) => file.endsWith('.node'))
    expect(native).toEqual([`node_modules/better-sqlite3/prebuilds/linux-${process.arch}.node`])
    expect(existsSync(join(unpacked, 'resources/app.asar.unpacked', native[0]!))).toBe(true)
    expect(files.filter((file) => /\.(ts|svelte|map|cpp|c|h|gypi?)$/.test(file))).toEqual([])

    const binary = readFileSync(join(unpacked, 'twopack'), 'latin1')
    const wire = binary.slice(binary.indexOf(SENTINEL) + SENTINEL.length + 2).slice(0, 8)
    // In order: run as Node, cookie encryption, NODE_OPTIONS, --inspect, asar integrity, only from asar, own
    // snapshot (left as it was), file:// privileges.
    expect(wire).toBe('00001110')
  }, 60_000)
})

/** The file names in an asar archive: its JSON header follows four 32-bit sizes, the last of which is its length. */
function filesOfArchive(path: string): string[] {
  const file = openSync(path, 'r')
  const sizes = Buffer.alloc(16)
  readSync(file, sizes, 0, 16, 0)
  const header = Buffer.alloc(sizes.readUInt32LE(12))
  readSync(file, header, 0, header.byteLength, 16)
  interface Entry {
    files?: Record<string, Entry>
  }
  const walk = (entry: Entry, path: string): string[] =>
    entry.files
      ? Object.entries(entry.files).flatMap(([name, inner]) => walk(inner, path ? `${path}/${name}` : name))
      : [path]
  return walk(JSON.parse(header.toString('utf8')) as Entry, '')
}
