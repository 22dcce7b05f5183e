import { execFile } from 'node:child_process'
import { mkdtemp, readdir, readFile, rm } from 'node:fs/promises'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterAll, beforeAll, describe, expect, test } from 'vitest'
import { readArguments } from '../../../electron/simulate/arguments.ts'
import { helpText } from '../../../electron/simulate/help.ts'
import { SCENARIOS } from '../../../workers/model/scenarios.ts'
import type { TruthFile } from '../../../workers/model/simulate-scenario.ts'

let folder = ''
beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), 'simulate-'))
})
afterAll(() => rm(folder, { recursive: true }))

const command = new URL('../../../electron/simulate/command.ts', import.meta.url).pathname

function simulate(...args: string[]): Promise<{ code: number; out: string; err: string }> {
  return new Promise((resolve) => {
    execFile(process.execPath, [command, ...args], (error, out, err) => {
      resolve({ code: typeof error?.code === 'number' ? error.code : 0, out, err })
    })
  })
}

describe('npm run simulate', () => {
  test('writes the log, the settings sheet and the truth, the same bytes each time', async () => {
    const short = ['--scenario', 'hover', '--seed', '3', '--set', 'longest_s=4', '--fault', 'lost=0.02,wrap']
    const first = join(folder, 'first')
    const second = join(folder, 'second')
    const run = await simulate(...short, '--out', first)
    expect(run).toMatchObject({ code: 0, err: '' })
    await simulate(...short, '--out', second)
    const names = await readdir(first)
    expect(names.sort()).toEqual(['hover-3.csv', 'hover-3.settings.txt', 'hover-3.truth.json'])
    for (const name of names)
      expect(await readFile(join(second, name))).toEqual(await readFile(join(first, name)))
    const truth = JSON.parse(await readFile(join(first, 'hover-3.truth.json'), 'utf8')) as TruthFile
    expect(truth).toMatchObject({
      format: 1,
      scenario: 'hover',
      setup: { seed: 3 },
      log: { fileName: 'hover-3.csv' },
    })
    const lines = (await readFile(join(first, 'hover-3.csv'), 'utf8')).trimEnd().split('\n')
    expect(lines.slice(0, 3)).toEqual(['# craft = Marsh Lantern', '# scenario = hover', '# seed = 3'])
    expect(lines.length - 4).toBe(truth.log.faults!.rowsWritten)
    expect(truth.log.faults!.rowsLost).toBeGreaterThan(20)
  })

  test("a request that can't be carried out: code 2, one line on standard error, nothing written", async () => {
    const out = join(folder, 'none')
    for (const args of [
      ['--scenario', 'nowhere', '--out', out],
      ['--scenario', 'hover', '--out', out, '--set', 'tune.axes.roll.p=90'],
      ['--scenario', 'hover'],
      ['--scenario', 'hover', '--out', out, '--bogus'],
    ]) {
      const run = await simulate(...args)
      expect(run.code).toBe(2)
      expect(run.out).toBe('')
      expect(run.err).toMatch(/^\S[^\n]*\n$/)
    }
    await expect(readdir(out)).rejects.toThrow('ENOENT')
  })

  test("a folder that can't be made is said so", async () => {
    const run = await simulate(
      '--scenario',
      'hover',
      '--set',
      'longest_s=1',
      '--out',
      join(command, 'below-a-file'),
    )
    expect(run.code).toBe(2)
    expect(run.err).toMatch(/^Can't write /)
  })
})

describe('arguments', () => {
  const fly = (...args: string[]) => readArguments(['--scenario', 'hover', '--out', 'x', ...args])
  const request = (...args: string[]) => {
    const read = fly(...args)
    if (read.what !== 'fly') throw new Error(read.what)
    return read.request
  }

  test('help and list need nothing else; the help names every scenario', () => {
    expect(readArguments(['--help'])).toEqual({ what: 'help' })
    expect(readArguments(['--list'])).toEqual({ what: 'list' })
    for (const scenario of SCENARIOS) expect(helpText()).toContain(`  ${scenario.name} `)
  })

  test('units, words and separator make a style', () => {
    const { style } = request(
      '--units',
      'rate=radps,share=bits16,time=s',
      '--words',
      'terse',
      '--separator',
      'semicolon',
    )
    expect(style.rate).toEqual({ unit: 'radps', decimals: 3 })
    expect(style.share).toEqual({ unit: 'bits16', decimals: 0 })
    expect(style.time).toEqual({ unit: 's', decimals: 3 })
    expect([style.separator, style.decimal]).toEqual([';', ','])
    expect(style.words.time('s')).toBe('t')
  })

  test("a rate other than the millisecond's is stamped in microseconds", () => {
    const { style, overrides } = request('--rate', '2000')
    expect(style.time.unit).toBe('us')
    expect(overrides).toEqual([['logRate_hz', '2000']])
  })

  test('faults are read', () => {
    expect(request('--fault', 'jitter=0.2, burst=8,cut,without=stick+battery').faults).toMatchObject({
      jitter: 0.2,
      lostBurst: 8,
      cut: true,
      without: ['stick', 'battery'],
    })
  })

  test.each([
    [['--fault', 'lost=2'], 'fault lost is "2"; it must be a number between 0 and 0.9.'],
    [['--fault', 'gremlins'], 'There is no fault "gremlins"'],
    [['--fault', 'without=time'], 'fault without is "time"'],
    [['--units', 'rate=furlongs'], 'units rate is "furlongs"; it must be one of dps, radps'],
    [['--units', 'mass=kg'], 'There is no kind of unit "mass"'],
    [['--words', 'constructor'], 'words is "constructor"; it must be one of plain, terse, wordy.'],
    [['--separator', 'pipe'], 'separator is "pipe"'],
    [['--set', 'tune'], '--set takes NAME=VALUE, not "tune".'],
    [['--seed', '-1'], 'seed is "-1"; it must be a whole number between 0 and 4294967295.'],
    [['--seed', ''], 'seed is ""'],
  ])('%j is refused', (args, sentence) => {
    const [first, ...rest] = args as string[]
    // "--seed -1" would read as an option of its own.
    const written = first === '--seed' ? [`--seed=${rest[0]}`] : args
    expect(() => fly(...written)).toThrow(sentence)
  })

  test('the demo takes its seed only', () => {
    for (const extra of [['--rate', '500'], ['--set', 'noise=0'], ['--fine'], ['--fault', 'cut']])
      expect(() => readArguments(['--scenario', 'demo', '--out', 'x', ...extra])).toThrow(
        'The demo takes --seed only',
      )
  })
})
