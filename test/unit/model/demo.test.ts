import { beforeAll, describe, expect, test } from 'vitest'
import { AXES } from '../../../workers/flight/axes.ts'
import { DEMO_COUNT, demoFlights, type DemoFlight } from '../../../workers/model/demo.ts'
import { TAGS } from '../../../workers/moments/moment.ts'
import { simulateFlight, type FlightRecord } from '../../../workers/model/flight.ts'
import type { Truth } from '../../../workers/model/truth.ts'
import { compareSheets } from '../../../workers/settings/compare-sheets.ts'
import { parseSheet } from '../../../workers/settings/parse-sheet.ts'
import { thingsChanged } from '../../../workers/settings/things-changed.ts'

let flights: DemoFlight[] = []
/** The same flights as records, flown again from the setups in their truth. */
let records: FlightRecord[] = []
beforeAll(() => {
  flights = [...demoFlights()]
  records = flights.map((flight) => simulateFlight(flight.truth.setup))
}, 60_000)

/** Root mean square of setpoint minus gyro over the turns and snaps of an axis. */
function tracking_dps(record: FlightRecord, truth: Truth, axis: 0 | 1): number {
  const wanted = truth.manoeuvres.filter((one) => one.axis === AXES[axis] && one.kind !== 'sweep')
  let sum = 0
  let count = 0
  record.t_s.forEach((t, row) => {
    if (!wanted.some((one) => t >= one.start_s && t <= one.end_s)) return
    sum += (record.setpoint_dps[axis]![row]! - record.gyro_dps[axis]![row]!) ** 2
    count++
  })
  return Math.sqrt(sum / count)
}

describe('the demo', () => {
  test('is one craft over five flights in order, with a settings sheet each', () => {
    expect(flights).toHaveLength(DEMO_COUNT)
    expect(new Set(flights.map((flight) => flight.craft)).size).toBe(1)
    expect(flights.map((flight) => flight.order)).toEqual([1, 2, 3, 4, 5])
    for (const flight of flights) {
      expect(flight.fileName).toMatch(/^0\d-[a-z-]+\.csv$/)
      expect(flight.settingsName).toBe(flight.fileName.replace('.csv', '.settings.txt'))
      expect(flight.text.split('\n', 4)[3]).toMatch(/^time \[ms\],gyro roll \[deg\/s\]/)
      expect(flight.text.length).toBeLessThan(12e6)
      expect(flight.truth.duration_s).toBeGreaterThan(50)
    }
  })

  test('is flown lazily, and the same to the last byte every time', () => {
    const generator = demoFlights()
    expect(generator.next().value).toEqual(flights[0])
    expect(generator.return()).toEqual({ done: true, value: undefined })
  })

  test('each flight changes one thing in its settings sheet, and tells it', () => {
    const lines = flights.map((flight) => flight.settingsText.split('\n'))
    const changed = lines
      .slice(1)
      .map((sheet, index) => sheet.filter((line) => !lines[index]!.includes(line)))
    expect(changed).toEqual([
      ['roll I limit = 0.4', 'pitch I limit = 0.4'],
      ['roll feed-forward = 0.015', 'pitch feed-forward = 0.02'],
      ['battery mount = crosswise'],
      ['motor top % = 50'],
    ])
    const sheets = flights.map(({ settingsText }) => parseSheet(settingsText).settings)
    const things = sheets.slice(1).map((sheet, index) => thingsChanged(compareSheets(sheets[index]!, sheet)))
    expect(things.map((all) => all.map(({ words }) => words))).toEqual([
      ['I limit on roll and pitch: 0.25 → 0.4'],
      ['feed-forward on roll and pitch: about × 2.5'],
      ['battery mount: lengthwise → crosswise'],
      ['motor top %: 100 → 50'],
    ])
    expect(flights[0]!.changeNote).toBe('')
    for (const flight of flights.slice(1)) expect(flight.changeNote.length).toBeGreaterThan(20)
  })

  test('marks two or three moments, inside their flights', () => {
    const moments = flights.flatMap((flight) => flight.moments)
    expect(moments.length).toBeGreaterThanOrEqual(2)
    for (const flight of flights)
      for (const moment of flight.moments)
        expect(moment.t_s + moment.duration_s).toBeLessThan(flight.truth.duration_s)
    for (const { tags } of moments) expect(TAGS).toContain(tags[0])
    expect(moments.some(({ flyAgain }) => flyAgain !== null)).toBe(true)
  })
})

describe('what each change does', () => {
  test('the second does nothing: the first flight flown with it is the same to the last bit', () => {
    const [first, second] = flights
    const { tune, craft } = second!.truth.setup
    expect(simulateFlight({ ...first!.truth.setup, tune, craft })).toEqual(records[0])
    expect(second!.truth.linear).toEqual(first!.truth.linear)
    // But it is flown harder, and so looks worse.
    expect(second!.truth.setup.pilot.roughness).toBeGreaterThan(2 * first!.truth.setup.pilot.roughness)
    for (const axis of [0, 1] as const)
      expect(tracking_dps(records[1]!, second!.truth, axis)).toBeGreaterThan(
        1.15 * tracking_dps(records[0]!, first!.truth, axis),
      )
  })

  /** The effect of a change under the same hands, air and seed: the other flight's tune and craft in this one. */
  const effect = (from: number, to: number, axis: 0 | 1) => {
    const base = flights[from]!.truth
    const { tune, craft } = flights[to]!.truth.setup
    const changed = simulateFlight({ ...base.setup, tune, craft })
    const truth = { ...base, manoeuvres: changed.manoeuvres }
    return tracking_dps(changed, truth, axis) / tracking_dps(records[from]!, base, axis)
  }

  test('the third helps roll and pitch clearly', () => {
    expect(effect(0, 2, 0)).toBeLessThan(0.8)
    expect(effect(0, 2, 1)).toBeLessThan(0.8)
  })

  test('the fourth helps pitch and hurts roll', () => {
    expect(effect(2, 3, 1)).toBeLessThan(0.92)
    expect(effect(2, 3, 0)).toBeGreaterThan(1.15)
  })

  test("the fifth leaves the linear loop alone but runs into the motors' limit", () => {
    expect(flights[4]!.truth.linear).toEqual(flights[3]!.truth.linear)
    expect(flights[3]!.truth.saturation.share).toBeLessThan(0.001)
    expect(flights[4]!.truth.saturation.share).toBeGreaterThan(0.01)
    expect(flights[4]!.truth.saturation.atTopShare).toBeGreaterThan(0.05)
    expect(effect(3, 4, 0)).toBeGreaterThan(1.05)
  })
})

// How real flights look: common practice, no source.
describe('looks like flying', () => {
  test('prop wash has most of its residual energy in 8-60 Hz on roll and pitch', () => {
    flights.forEach((flight, index) => {
      const record = records[index]!
      for (const axis of [0, 1] as const) {
        let inside = 0
        let all = 0
        for (const dive of flight.truth.manoeuvres.filter((one) => one.kind === 'wash dive')) {
          const from = record.t_s.findIndex((t) => t >= dive.release_s!)
          const residual = Float64Array.from(
            { length: 600 },
            (_, row) => record.gyro_dps[axis]![from + row]! - record.setpoint_dps[axis]![from + row]!,
          )
          const power = powerByBand(residual, 1000, 8, 60)
          inside += power.inside
          all += power.all
        }
        expect(inside / all, `${flight.fileName} ${AXES[axis]}`).toBeGreaterThan(0.5)
      }
    })
  })

  test('after turns the craft bounces by some to some tens of deg/s and settles within 20 to 300 ms', () => {
    for (const index of [0, 2, 3]) {
      const record = records[index]!
      for (const axis of [0, 1] as const) {
        const kind = axis === 0 ? 'roll' : 'flip'
        const stops = flights[index]!.truth.manoeuvres.filter((one) => one.kind === kind).map((one) =>
          stop(record, axis, one.release_s!, one.end_s),
        )
        const sizes = stops.map((one) => one.size_dps).sort((a, b) => a - b)
        const settles = stops.map((one) => one.settle_s).sort((a, b) => a - b)
        const middle = (values: number[]) => (values[2]! + values[3]!) / 2
        expect(middle(sizes)).toBeGreaterThan(5)
        expect(middle(sizes)).toBeLessThan(80)
        expect(middle(settles)).toBeGreaterThan(0.02)
        expect(middle(settles)).toBeLessThan(0.3)
      }
    }
  })
})

/** Largest swing, and time until it stays within 15 deg/s, once the setpoint is back near zero. */
function stop(record: FlightRecord, axis: 0 | 1, release_s: number, end_s: number) {
  let zero_s = Number.NaN
  let size_dps = 0
  let settle_s = 0
  record.t_s.forEach((t, row) => {
    if (t < release_s || t > end_s) return
    const setpoint = record.setpoint_dps[axis]![row]!
    if (Number.isNaN(zero_s) && Math.abs(setpoint) < 15) zero_s = t
    if (Number.isNaN(zero_s)) return
    const swing = Math.abs(record.gyro_dps[axis]![row]! - setpoint)
    size_dps = Math.max(size_dps, swing)
    if (swing > 15) settle_s = t - zero_s
  })
  return { size_dps, settle_s }
}

/** Power of a series without its mean, inside a band and in all, by a plain transform. */
function powerByBand(values: Float64Array, rate_hz: number, low_hz: number, high_hz: number) {
  const mean = values.reduce((sum, value) => sum + value, 0) / values.length
  let inside = 0
  let all = 0
  for (let bin = 1; bin < values.length / 2; bin++) {
    let re = 0
    let im = 0
    values.forEach((value, index) => {
      const angle = (2 * Math.PI * bin * index) / values.length
      re += (value - mean) * Math.cos(angle)
      im += (value - mean) * Math.sin(angle)
    })
    const power = re * re + im * im
    const f_hz = (bin * rate_hz) / values.length
    all += power
    if (f_hz >= low_hz && f_hz <= high_hz) inside += power
  }
  return { inside, all }
}
