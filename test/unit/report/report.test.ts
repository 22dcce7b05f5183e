/** The report without a window, against ../shared/data/README.md (SciPy 1.10 on open-licensed research flights). */
import { spawnSync } from 'node:child_process'
import { existsSync, mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { gunzipSync } from 'node:zlib'
import * as v from 'valibot'
import { afterEach, beforeEach, describe, expect, test } from 'vitest'
import { Library } from '../../../electron/library/library.ts'
import { reportSchema, type Report } from '../../../electron/report/format.ts'
import { readPngText } from '../../../workers/picture/png-text.ts'
import { sharedData } from '../../shared-data.ts'
import { change, verdict } from '../changes/made.ts'
import { FACTS, readLog } from '../library/made.ts'

const original = sharedData('research-quad/gains-original.csv')
const changed = sharedData('research-quad/gains-i0-d4.csv')
const attitude = sharedData('research-quad/controller-a.csv')
const project = join(import.meta.dirname, '../../..')

let folder: string
beforeEach(() => (folder = mkdtempSync(join(tmpdir(), 'twopack-report-test-'))))
afterEach(() => rmSync(folder, { recursive: true, force: true }))

function run(...args: string[]) {
  // Paths count from the caller's folder, which npm hands over; here they are absolute.
  const command = ['electron/report/command.ts', ...args]
  return spawnSync(process.execPath, command, { cwd: project, encoding: 'utf8' })
}

const readReport = (): Report =>
  v.parse(reportSchema, JSON.parse(readFileSync(join(folder, 'report.json'), 'utf8')))

const RAD = 180 / Math.PI
const near = (value: number | null | undefined, expected: number, relative: number) => {
  expect(value).not.toBeNull()
  expect(Math.abs((value ?? NaN) / expected - 1)).toBeLessThan(relative)
}

describe.skipIf(!original || !changed)('two flights of the research quad', () => {
  test('a repeat flight sets the floor of the verdict', () => {
    const { status, stderr } = run(original!, changed!, '--out', folder, '--repeat', original!)
    expect(stderr).toBe('')
    expect(status).toBe(0)
    const { verdict } = readReport()
    expect(verdict.repeat).toMatchObject({ of: 'a', file: 'gains-original.csv' })
    // The very same file again: nothing differs.
    const floors = verdict.measures.flatMap(({ floor }) => floor ?? [])
    expect(floors.length).toBeGreaterThan(0)
    for (const floor of floors) expect(floor).toBeLessThan(1e-9)
    expect(verdict.cautions.join(' ')).toMatch(/one repeat of A/)
    // These logs hold no battery.
    expect(verdict.notCompared.map(({ input }) => input)).toContain('battery voltage')
  })

  test('a repeat that can not be read, or of neither flight, is refused', () => {
    const missing = run(original!, changed!, '--out', folder, '--repeat', '/nowhere/flight.csv')
    expect(missing.status).toBe(2)
    expect(missing.stderr.trim().split('\n').length).toBe(1)
    const neither = run(original!, changed!, '--out', folder, '--repeat', original!, '--repeat-of', 'c')
    expect(neither.status).toBe(2)
    expect(neither.stderr).toContain('it must be a or b')
  })

  test('facts of both files, lags, alignment and the picture', () => {
    const { status, stderr } = run(original!, changed!, '--out', folder)
    expect(stderr).toBe('')
    expect(status).toBe(0)
    const { flights, measures, alignment, span } = readReport()
    expect(flights.a.rows).toBe(6816)
    expect(flights.b.rows).toBe(6578)
    near(flights.a.duration_s, 68.0875, 1e-5)
    near(flights.a.rate_hz, 100.0918, 1e-5)
    near(flights.b.rate_hz, 100.089, 1e-5)
    const rms = { a: [0.391033, 0.473105, 0.143141], b: [0.362009, 0.443031, 0.140414] }
    for (const side of ['a', 'b'] as const) {
      flights[side].whole.forEach(({ gyroRms_dps }, axis) =>
        near(gyroRms_dps.value, rms[side][axis]! * RAD, 1e-5),
      )
    }
    // Welch(256) peaks at 1.564 Hz on roll and pitch.
    near(flights.a.whole[0]!.gyroPeak_hz.value, 1.564, 1e-3)
    near(flights.a.whole[1]!.gyroPeak_hz.value, 1.564, 1e-3)
    const lagOf = (axis: string, side: 'a' | 'b') =>
      measures.find((one) => one.measure === 'lag' && one.axis === axis)?.[side].value ?? NaN
    expect(Math.abs(lagOf('roll', 'a') - 33)).toBeLessThan(2)
    expect(Math.abs(lagOf('pitch', 'a') - 33)).toBeLessThan(2)
    expect(Math.abs(lagOf('roll', 'b') - 34)).toBeLessThan(2)
    expect(Math.abs(lagOf('pitch', 'b') - 33)).toBeLessThan(2)
    expect(alignment).toMatchObject({ by: 'setpoint', sure: 'certain' })
    expect(span!.t1_s - span!.t0_s).toBeGreaterThan(60)
    // One file mixes deg/s commands with rad/s gyro.
    const unitOf = (role: string) => flights.a.columns.find((column) => column.role === role)?.unit
    expect([unitOf('gyro.roll'), unitOf('setpoint.roll')]).toEqual(['radps', 'dps'])
    const { response, verdict } = readReport()
    // Nobody flew a roll or a flip here: nothing may be called better or worse for want of pairs.
    for (const { word, pairs, from } of verdict.measures) {
      if (from === 'pairs' && pairs < 6) expect(word).toBe("can't tell")
    }
    expect(verdict.sentence).not.toBe('')
    for (const { errorBudget, step, axis } of response!.a.axes) {
      const { parts, total } = errorBudget
      const sum = Object.values(parts!).reduce((all, part) => all + part, 0)
      expect(Math.abs(sum / total! - 1)).toBeLessThan(1e-9)
      // A 24 Hz line stands on all axes (data/README.md); this report lists lines above 40 Hz only.
      for (const { value, reason } of step) expect(value === null).toBe(reason !== null)
      expect(step.map(({ figure }) => figure)).toContain('overshoot')
      expect(['roll', 'pitch', 'yaw']).toContain(axis)
    }
    const text = readPngText(readFileSync(join(folder, 'comparison.png')))
    expect(text['Title']).toBe('Before against after')
    expect(text['Description']).toContain('Tracking error')
    // No names unless asked for.
    expect(JSON.stringify(text)).not.toContain('gains-')
    expect(readReport().files).toEqual(['report.json', 'comparison.png'])
  })

  test('every form on request, under the given title, with an excerpt of both logs', () => {
    const title = 'D <b>raised</b> | I =0'
    const { status, stderr, stdout } = run(
      ...[original!, changed!, '--out', folder, '--formats', 'all', '--names', '--gzip'],
      ...['--title', title, '--note', '=1+1', '--theme', 'dark', '--width', '1600', '--span', '10:50'],
      ...['--excerpt', '20:21', '--excerpt-also', 'no such column'],
    )
    expect(stderr.trim()).toBe('Neither log has a column "no such column".')
    expect(status).toBe(2)
    expect(stdout).toBe('')
    expect(existsSync(join(folder, 'report.json'))).toBe(false)
    const again = run(
      ...[original!, changed!, '--out', folder, '--formats', 'all', '--names', '--gzip'],
      ...['--title', title, '--note', '=1+1', '--theme', 'dark', '--width', '1600', '--span', '10:50'],
      ...['--excerpt', '20:21'],
    )
    expect(again.stderr).toBe('')
    expect(again.stdout).toMatch(/Left out of excerpt A: .*never in an excerpt/)
    const { files, span } = readReport()
    const forms = ['png', 'svg', 'md', 'txt', 'html'].map((end) => `comparison.${end}`)
    expect(files).toEqual(['report.json', ...forms, 'excerpt-a.csv.gz', 'excerpt-b.csv.gz'])
    expect(span).toEqual({ t0_s: 10, t1_s: 50 })
    const read = (name: string) => readFileSync(join(folder, name), 'utf8')
    expect(readPngText(readFileSync(join(folder, 'comparison.png')))['Title']).toBe(title)
    expect(readFileSync(join(folder, 'comparison.png')).readUInt32BE(16)).toBe(3200)
    expect(read('comparison.svg')).toContain('D &lt;b&gt;raised&lt;/b&gt; | I =0')
    expect(read('comparison.md')).toContain('# D &lt;b&gt;raised&lt;/b&gt; \\| I =0')
    expect(read('comparison.txt')).toContain(title)
    expect(read('comparison.txt')).toContain('gains-original.csv')
    expect(read('comparison.html')).toContain('<title>D &lt;b&gt;raised&lt;/b&gt; | I =0</title>')
    const [head = '', ...rows] = gunzipSync(readFileSync(join(folder, 'excerpt-a.csv.gz')))
      .toString()
      .trim()
      .split('\r\n')
    expect(head).toMatch(/^time \(s\),gyro roll \(deg\/s\),/)
    // A second of a 100 Hz log.
    expect(Math.abs(rows.length - 101)).toBeLessThan(4)
  })

  test('swapping the files mirrors every difference', () => {
    run(original!, changed!, '--out', folder)
    const forth = readReport()
    run(changed!, original!, '--out', folder)
    const back = readReport()
    expect(back.alignment.offset_s).toBeCloseTo(-forth.alignment.offset_s, 2)
    forth.measures.forEach(({ difference, measure }, index) => {
      if (difference === null) return
      // The two spans may cut a sample more or less at either end.
      expect(Math.abs(difference + back.measures[index]!.difference!)).toBeLessThan(
        measure === 'lag' ? 0.2 : 0.5,
      )
    })
  })
})

test.skipIf(!attitude)('a missing setpoint costs something, and is no error', () => {
  const { status } = run(attitude!, attitude!, '--out', folder)
  expect(status).toBe(0)
  const { flights, measures } = readReport()
  expect(flights.a.columns.some(({ role }) => role.startsWith('setpoint.'))).toBe(false)
  expect(
    flights.a.health.some(({ level, text, cost }) => level === 'missing' && /setpoint/.test(text + cost)),
  ).toBe(true)
  const tracking = measures.find(({ measure }) => measure === 'tracking error RMS')!
  expect(tracking).toMatchObject({
    a: { value: null, reason: expect.stringMatching(/no setpoint/) },
    difference: null,
  })
  expect(measures.find(({ measure }) => measure === 'gyro RMS')!.difference).toBe(0)
  const { response } = readReport()
  expect(response!.a.axes[0]!.step[0]).toMatchObject({
    value: null,
    reason: expect.stringMatching(/no setpoint/),
  })
  expect(response!.a.axes[0]!.errorBudget).toMatchObject({
    parts: null,
    reason: expect.stringMatching(/no setpoint/),
  })
  expect(existsSync(join(folder, 'comparison.png'))).toBe(true)
})

describe('what can not be read', () => {
  test.each([
    ['an empty file', 'empty.csv', ''],
    ['a picture', 'picture.csv', readFileSync(join(project, 'resources/icon.png'))],
    ['no time column', 'words.csv', 'one,two\n4,2\n3,1\n5,7\n'],
  ])('%s: exit code 2 and one plain line', (_what, name, content) => {
    const path = join(folder, name)
    writeFileSync(path, content)
    const { status, stderr, stdout } = run(path, path, '--out', join(folder, 'out'))
    expect(status).toBe(2)
    expect(stderr.trim().split('\n')).toHaveLength(1)
    expect(stderr).toContain(name)
    expect(stdout).toBe('')
    expect(existsSync(join(folder, 'out'))).toBe(false)
  })

  test('a path that is not there, a folder, and missing arguments', () => {
    for (const args of [
      [join(folder, 'none.csv'), folder, '--out', folder],
      [folder, folder, '--out', folder],
      [],
      ['--frobnicate'],
      ['a.csv', 'b.csv', '--out', folder, '--formats', 'bmp'],
      ['a.csv', 'b.csv', '--out', folder, '--theme', 'pink'],
      ['a.csv', 'b.csv', '--out', folder, '--width', '12'],
      ['a.csv', 'b.csv', '--out', folder, '--span', '5:3'],
      ['a.csv', 'b.csv', '--out', folder, '--gzip'],
      ['a.csv', 'b.csv', '--out', folder, '--settings-a', 'a.txt'],
    ]) {
      const { status, stderr } = run(...args)
      expect(status).toBe(2)
      expect(stderr.trim().split('\n')).toHaveLength(1)
    }
  })
})

test('a simulated pair with everything logged: rotors, filters, throttle, demand and every signal, each with its reason', () => {
  const flights = ['gentle', 'improved']
  for (const scenario of flights) {
    const made = spawnSync(
      process.execPath,
      ['electron/simulate/command.ts', '--scenario', scenario, '--seed', '3', '--fine', '--out', folder],
      { cwd: project, encoding: 'utf8' },
    )
    expect(made.stderr).toBe('')
  }
  const [a, b] = flights.map((name) => join(folder, `${name}-3.csv`)) as [string, string]
  expect(run(a, b, '--out', folder).status).toBe(0)
  const { response } = readReport()
  for (const flight of [response!.a, response!.b]) {
    expect(flight.rotors).toMatchObject({ from: 'logged', polePairs: 1, reason: null })
    // The sheet beside the log says three blades.
    expect(flight.rotors.lines.map(({ name }) => name)).toContain('blade pass (3)')
    const gyro = flight.filterDelays.places.find(({ place }) => place === 'gyro')!
    expect(gyro.slow).toMatchObject({ unit: 'ms', reason: null, method: { id: 'sheet-filter-delay' } })
    for (const { axis, gyroFilters, signals, byDemand, lag, overTime } of flight.axes) {
      // Two ways of telling the lag: alike, or the caution says that delay and shape mix.
      const { byCorrelation, byPhase } = lag
      expect(Math.abs(byCorrelation.value! - byPhase.value!) < 2 || byPhase.cautions.length > 0, axis).toBe(
        true,
      )
      expect(overTime.error.filter(({ rms_dps }) => rms_dps !== null).length, axis).toBeGreaterThan(10)
      expect(overTime).toMatchObject({ reason: null, windows: { error_s: 1, lag_s: 4 } })
      // Measured from both gyros against described by the sheet (exact for the model's filters).
      expect(Math.abs(gyroFilters.delay.value! - gyro.slow.value!), axis).toBeLessThan(0.06)
      expect(signals.map(({ signal }) => signal)).toEqual([
        'gyro',
        'unfiltered',
        'setpoint',
        'error',
        'pTerm',
        'iTerm',
        'dTerm',
        'feedForward',
        'motors',
      ])
      const rmsOf = (name: string) => signals.find(({ signal }) => signal === name)!.bands!.at(-1)!.rms
      expect(rmsOf('gyro')).toBeLessThan(rmsOf('unfiltered'))
      expect(byDemand.small).toHaveLength(byDemand.large.length)
    }
    for (const { value, reason, segments } of [...flight.throttle.drift, ...flight.throttle.propWash]) {
      expect(value === null).toBe(reason !== null)
      expect(segments).not.toBeNull()
    }
  }
  // The sheets that lie beside the logs are compared without being named.
  const { settings, noted, flights: logs } = readReport()
  expect(settings!.changed.length).toBeGreaterThan(0)
  expect(noted).toBeNull()

  noteIn(join(folder, 'home'), logs.a.file.sha256, logs.b.file.sha256, settings!.changed[0]!)
  const again = run(
    ...[a, b, '--out', folder, '--formats', 'txt', '--library', join(folder, 'home'), '--card'],
    ...['--without', 'yaw,settings'],
  )
  expect(again.stderr).toBe('')
  const whole = readReport()
  expect(whole.noted).toMatchObject({
    moments: [
      {
        places: [{ flight: 'a', t0_s: 10, t1_s: 11 }],
        tags: ['wash'],
        note: '<b>shakes</b>',
        flyAgain: true,
        whatToFly: 'Drops of two seconds',
      },
    ],
    changes: [{ what: 'more D', verdict: { sentence: 'B is better.' } }],
  })
  expect(whole.settings!.warnings).toContainEqual(expect.objectContaining({ kind: 'out of range' }))
  expect(whole.files).toEqual(['report.json', 'comparison.txt', 'field-card.txt', 'field-card.png'])
  const read = (name: string) => readFileSync(join(folder, name), 'utf8')
  expect(read('comparison.txt')).not.toMatch(/Axis yaw|SETTINGS THAT DIFFER/)
  expect(read('field-card.txt')).toContain('1. [ ] Drops of two seconds')
  // Marked with both flights side by side: how often is by the verdict on them.
  expect(read('field-card.txt')).not.toContain('No verdict of its pair is known')
  expect(readPngText(readFileSync(join(folder, 'field-card.png')))['Description']).toContain('<b>shakes</b>')
}, 120_000)

/** A library in which the pilot noted something of both logs. */
function noteIn(home: string, a: string, b: string, { name, b: value }: { name: string; b: string }): void {
  mkdirSync(home)
  const library = new Library(home)
  for (const hash of [a, b]) library.add(readLog(hash), FACTS, 1)
  const place = { t0_s: 10, t1_s: 11 }
  library.moments.add(
    {
      id: 'm',
      places: [
        { side: 'a', contentHash: a, ...place, marked: true },
        { side: 'b', contentHash: b, ...place, marked: false },
      ],
      tags: ['wash'],
      note: '<b>shakes</b>',
      stars: 3,
      flyAgain: true,
      whatToFly: 'Drops of two seconds',
    },
    1,
  )
  const flight = { flightId: 2, contentHash: b, name: 'B', flownAt_ms: null }
  library.changes.put(change(1, { what: 'more D', after: [flight], verdict: verdict('better') }))
  const beyond = Number(value) + 1
  library.changes.keepGlossary([{ pattern: name, meaning: '', unit: '', low: beyond, high: null }])
  library.close()
}
