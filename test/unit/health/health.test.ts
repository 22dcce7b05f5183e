import { readFileSync } from 'node:fs'
import { describe, expect, test } from 'vitest'
import { readClock } from '../../../workers/clock/clock.ts'
import type { Assignment, Role } from '../../../workers/columns/roles.ts'
import { clockNotices, missingNotices, readHealth } from '../../../workers/health/health.ts'
import {
  clippedShare,
  commonStretches,
  markRepeats,
  markStraight,
  saturatedShare,
} from '../../../workers/health/stretches.ts'
import { quantityOf } from '../../../workers/columns/roles.ts'
import type { Notice } from '../../../workers/log/log.ts'
import { sharedData } from '../../shared-data.ts'
import { seeded } from '../columns/invented-flight.ts'

const UNIT = {
  time: 's',
  rate: 'dps',
  stick: 'unit',
  throttle: 'share',
  motor: 'share',
  voltage: 'volt',
  speed: 'rpm',
  term: 'own',
} as const

function assigned(roles: readonly Role[]): Assignment[] {
  return roles.map((role, column) => ({
    role,
    column,
    name: role,
    unit: UNIT[quantityOf(role)],
    sign: 1,
    sure: 'certain',
    setBy: 'program',
    how: 'Said so.',
  }))
}

const ALL: readonly Role[] = [
  'time',
  'gyro.roll',
  'gyro.pitch',
  'gyro.yaw',
  'setpoint.roll',
  'setpoint.pitch',
  'setpoint.yaw',
  'throttle',
  'motor.1',
  'dTerm.yaw',
]
const ROWS = 4000
const random = seeded(11)
const time_s = Float64Array.from({ length: ROWS }, (_, row) => row / 1000)

/** A flight in which every column is lively, with some columns replaced. */
async function health(
  replaced: Partial<Record<Role, (row: number, lively: number) => number>>,
): Promise<Notice[]> {
  const columns = new Map(
    ALL.map((role, index) => [
      index,
      Float32Array.from({ length: ROWS }, (_, row) => {
        const rate = quantityOf(role) === 'rate'
        const lively = rate ? 300 * Math.sin(row / 50) + 20 * random() : 0.5 + 0.2 * random()
        return replaced[role]?.(row, lively) ?? lively
      }),
    ]),
  )
  return readHealth({
    clock: readClock(time_s),
    time_s,
    assignments: assigned(ALL),
    column: async (index) => columns.get(index) as Float32Array,
  })
}

const texts = (notices: readonly Notice[]): string => notices.map((notice) => notice.text).join('\n')

describe('the health of a flight', () => {
  test('a lively flight has nothing to be careful about', async () => {
    expect((await health({})).map((notice) => notice.level)).toEqual(['info'])
  })

  test('a clipped gyro', async () => {
    const notices = await health({ 'gyro.yaw': (_, lively) => Math.max(-250, Math.min(250, lively)) })
    expect(texts(notices)).toMatch(/ran into its limit on yaw \(\d+(\.\d)? % of the rows\)/)
    expect(
      texts(await health({ 'gyro.yaw': (_, lively) => Math.max(-50, Math.min(50, lively / 5)) })),
    ).not.toContain('limit')
  })

  test('a gyro held at one value, to the end of the file', async () => {
    const hold = (row: number, lively: number): number => (row >= 3000 ? 123 : lively)
    const notices = await health({ 'gyro.roll': hold, 'gyro.pitch': hold, 'gyro.yaw': hold })
    expect(texts(notices)).toContain(
      'stands still at one value on all axes from 3.00 s to 4.00 s; the last runs to the end of the file.',
    )
    // One axis alone may truly rest.
    expect(texts(await health({ 'gyro.roll': hold }))).not.toContain('stands still')
  })

  test('a gyro filled in along straight lines, to the end of the file', async () => {
    const fill = (row: number, lively: number): number => (row >= 3600 ? 200 - 0.25 * (row - 3600) : lively)
    const notices = await health({ 'gyro.roll': fill, 'gyro.pitch': fill, 'gyro.yaw': fill })
    expect(texts(notices)).toMatch(
      /runs along straight lines from 3\.60 s to 4\.00 s; the last runs to the end of the file: filled in, not measured\./,
    )
    expect(texts(await health({ 'gyro.roll': fill, 'gyro.pitch': fill }))).not.toContain('straight')
  })

  test('a dead axis, a throttle that never moves, empty cells', async () => {
    const notices = await health({
      'gyro.pitch': () => 0,
      throttle: () => 0.4,
      'dTerm.yaw': () => 0,
      'setpoint.roll': (row, lively) => (row % 10 === 0 ? NaN : lively),
    })
    expect(texts(notices)).toContain('The gyro never moves on pitch.')
    expect(texts(notices)).toContain('“throttle” (throttle) and “dTerm.yaw” (D-term yaw) never move.')
    expect(texts(notices)).toContain('Many cells are empty in “setpoint.roll” (10 %).')
  })

  test('saturated motors', async () => {
    const notices = await health({ 'motor.1': (row) => (row < 400 ? 1 : 0.5 + 0.1 * random()) })
    expect(texts(notices)).toContain('Motor 1 (10 %) ran at full power')
  })

  test('what is missing, and what that costs', () => {
    const missing = missingNotices(assigned(['time', 'gyro.roll', 'gyro.pitch', 'gyro.yaw']))
    expect(missing.map(({ text, cost }) => `${text} ${cost}`)).toEqual([
      'No setpoint was found. Tracking error and lag can’t be given.',
      'No sticks were found. Two flights can be lined up by their gyro or by hand only.',
      'No throttle was found. Noise by throttle and prop wash can’t be given.',
      'No motors were found. Headroom and motor saturation can’t be given.',
    ])
    const sticksOnly = missingNotices(
      assigned([...ALL.filter((role) => !role.startsWith('setpoint')), 'stick.roll']),
    )
    expect(sticksOnly[0]?.cost).toBe(
      'Tracking error and lag can’t be given. What the sticks asked for is drawn as an estimate, where they were held still often enough.',
    )
    expect(missingNotices(assigned(['time']))[0]?.text).toBe('No gyro was found.')
    expect(missingNotices(assigned(ALL))).toEqual([])
    const partly = missingNotices(
      assigned(ALL.filter((role) => role !== 'gyro.yaw' && role !== 'setpoint.pitch')),
    )
    expect(texts(partly)).toBe('No gyro was found for yaw.\nNo setpoint was found for pitch.')
  })

  test('the clock in words', () => {
    const stamps = Float64Array.from({ length: 500 }, (_, row) => row / 100)
    stamps[20] = stamps[19] as number
    for (let row = 300; row < 500; row += 1) stamps[row] = (stamps[row] as number) + 0.2
    const notices = clockNotices(readClock(stamps))
    expect(texts(notices)).toContain('The log runs at 96.1 Hz, slow for a flight log.')
    expect(texts(notices)).toContain('2 gaps in the clock, the longest 210 ms; about 21 frames missing.')
    expect(texts(notices)).toContain('The clock was mended: 1 stamp repeated.')
    expect(clockNotices(readClock(new Float64Array(5)))[0]?.text).toBe('The clock stands still.')
  })
})

describe('stretches', () => {
  test('straight lines on uneven stamps are found, and only where every axis has them', () => {
    const stamps = Float64Array.from({ length: 200 }, (_, row) => row * 0.01 + 0.002 * Math.sin(row))
    const noisy = Float32Array.from({ length: 200 }, () => 10 * random())
    const filled = noisy.slice()
    for (let row = 50; row < 62; row += 1) filled[row] = 3 + 40 * (stamps[row] as number)
    const marks = [markStraight(filled, stamps)]
    expect(commonStretches(marks, 2, 6)).toEqual([{ from: 50, to: 62 }])
    expect(commonStretches([...marks, markStraight(noisy, stamps)], 2, 6)).toEqual([])
    expect(commonStretches([], 2, 6)).toEqual([])
  })

  test('repeats, clipping and saturation by hand', () => {
    expect(Array.from(markRepeats(Float32Array.of(5, 5, 5, 6, 0, 0)))).toEqual([0, 1, 1, 0, 0, 0])
    expect(clippedShare(Float32Array.of(0, 500, 500, 500, 500, 0, -30, 20))).toBe(0.5)
    expect(clippedShare(Float32Array.of(0, 500, 500, 500, 0, 0, -30, 20))).toBe(0)
    expect(saturatedShare(Float32Array.of(1, 0.9996, 0.999, 0))).toBe(0.5)
    expect(saturatedShare(new Float32Array(0))).toBe(0)
  })

  // Counted with numpy on the file: second differences over the stamps below 1e-5, six rows or more, on the y axis.
  const path = sharedData('research-quad/controller-b.csv')
  test.skipIf(!path)('a shared log with filled dropouts: 17 places, 119 rows, longest at 17.62 s', () => {
    const rows = readFileSync(path as string, 'utf8')
      .trim()
      .split('\n')
      .map((line) => line.split(','))
    const header = rows.shift() as string[]
    const stamps = Float64Array.from(rows, (row) => Number(row[0]))
    const marks = ['x', 'y', 'z'].map((letter) =>
      markStraight(
        Float32Array.from(rows, (row) => Number(row[header.indexOf(`imu_gyro_${letter}`)])),
        stamps,
      ),
    )
    const found = commonStretches(marks, 2, 6)
    expect(found.length).toBe(17)
    expect(found.reduce((sum, { from, to }) => sum + to - from, 0)).toBe(119)
    const longest = found.reduce((most, one) => (one.to - one.from > most.to - most.from ? one : most))
    expect(stamps[longest.from]).toBeCloseTo(17.62, 2)
    expect(longest.to - longest.from).toBe(11)
  })
})
