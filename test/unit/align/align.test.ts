import { describe, expect, test } from 'vitest'
import { alignFlights, type AlignFlight } from '../../../workers/align/align.ts'
import { onGrid, standardised } from '../../../workers/align/grid.ts'
import { noSharedData, normalInput, quadFlight, randomInput } from '../signal/series.ts'

/** Random sticks of a band, their value at any time, so that two flights can fly the same at different rates. */
function pilot(seed: number, highest_hz = 2) {
  return (channel: number) => {
    // Uneven frequencies: evenly spaced ones would repeat.
    const rates = randomInput(seed + 100 * channel, 100).map(
      (u, k) => (2 * Math.PI * (k + 1 + u) * highest_hz) / 100,
    )
    const phases = randomInput(seed + 100 * channel + 50, 100)
    return (t: number) => {
      let sum = 0
      for (let k = 0; k < 100; k++) sum += Math.sin(rates[k]! * t + 2 * Math.PI * phases[k]!)
      return sum / 7
    }
  }
}

const NAMES = ['stick.roll', 'stick.pitch', 'stick.yaw', 'throttle']

function flight(
  sticks: ReturnType<typeof pilot>,
  { rate_hz = 100, from_s = 0, to_s = 60, clock_s = 0, names = NAMES },
): AlignFlight {
  const count = Math.round((to_s - from_s) * rate_hz)
  const time = Float64Array.from({ length: count }, (_, n) => from_s + n / rate_hz)
  return {
    t_s: time.map((t) => t - from_s + clock_s),
    channels: names.map((name, index) => ({ name, samples: Float32Array.from(time, sticks(index)) })),
  }
}

describe('alignment of flights that fly the same', () => {
  const sticks = pilot(1)

  test.each([
    ['a later start', { from_s: 7.3 }, 7.3],
    ['an earlier start', { from_s: -4.21 }, -4.21],
    ['another rate', { rate_hz: 500, from_s: 7.3 }, 7.3],
    ['a slower rate', { rate_hz: 40, from_s: 3.1 }, 3.1],
    ['a clock of its own', { from_s: 7.3, clock_s: 1000 }, 7.3 - 1000],
    ['a part only', { from_s: 20, to_s: 38 }, 20],
  ])('finds %s', (_, b, offset_s) => {
    const result = alignFlights({ a: flight(sticks, {}), b: flight(sticks, b) })
    expect(Math.abs(result.offset_s - offset_s)).toBeLessThan(0.01)
    expect(result.by).toBe('stick')
    expect(result.sure).toBe('certain')
    expect(result.r).toBeGreaterThan(0.99)
  })

  test('is symmetric: exchanging A and B changes the sign', () => {
    const a = flight(sticks, {})
    const b = flight(sticks, { from_s: 5.5, to_s: 50 })
    expect(alignFlights({ a, b }).offset_s).toBeCloseTo(-alignFlights({ a: b, b: a }).offset_s, 6)
  })

  test('does not care for the scale, sign of the offset or unit of a channel', () => {
    const a = flight(sticks, {})
    const b = flight(sticks, { from_s: 2 })
    const scaled = {
      ...b,
      channels: b.channels.map(({ name, samples }) => ({
        name,
        samples: Float32Array.from(samples, (value) => 500 * value + 1500),
      })),
    }
    expect(alignFlights({ a, b: scaled }).offset_s).toBeCloseTo(alignFlights({ a, b }).offset_s, 4)
  })

  test('lives with NaN, spikes and a channel that stands still', () => {
    const a = flight(sticks, {})
    const b = flight(sticks, { from_s: 6 })
    const roll = b.channels[0]!.samples as Float32Array
    roll.fill(NaN, 500, 900)
    roll.fill(1e6, 5, 9)
    ;(b.channels[2]!.samples as Float32Array).fill(0)
    const result = alignFlights({ a, b })
    expect(Math.abs(result.offset_s - 6)).toBeLessThan(0.01)
    expect(result.sure).toBe('certain')
  })

  test('by the throttle alone, or the gyro alone, is never certain', () => {
    const names = ['throttle']
    const byThrottle = alignFlights({
      a: flight(sticks, { names }),
      b: flight(sticks, { names, from_s: 6 }),
    })
    expect([byThrottle.by, byThrottle.sure]).toEqual(['throttle', 'likely'])
    const gyros = ['gyro.roll', 'gyro.pitch']
    const byGyro = alignFlights({
      a: flight(sticks, { names: gyros }),
      b: flight(sticks, { names: gyros, from_s: 6 }),
    })
    expect([byGyro.by, byGyro.sure]).toEqual(['gyro', 'likely'])
    expect(byGyro.reason).toContain('Only the gyros')
    expect(Math.abs(byGyro.offset_s - 6)).toBeLessThan(0.01)
  })

  test('is not certain when a pattern repeats', () => {
    const lap = (offset: number) => (channel: number) => (t: number) => sticks(channel)((t + offset) % 12)
    const result = alignFlights({ a: flight(lap(0), {}), b: flight(lap(0), { from_s: 2 }) })
    expect(result.sure).not.toBe('certain')
    expect(result.runnerUp_r).toBeGreaterThan(0.9)
  })
})

describe('alignment of flights that have nothing in common', () => {
  test.each([0.3, 1, 3])('is at most a guess (band %f Hz)', (highest_hz) => {
    for (let seed = 0; seed < 4; seed++) {
      const a = flight(pilot(10 + 2000 * seed, highest_hz), {})
      const b = flight(pilot(900 + 2000 * seed, highest_hz), { to_s: 45 })
      expect(['none', 'guess']).toContain(alignFlights({ a, b }).sure)
    }
  })

  test('lays first sample on first sample and says so', () => {
    const still = (start: number): AlignFlight => ({
      t_s: Float64Array.from({ length: 1000 }, (_, n) => start + n / 100),
      channels: [{ name: 'throttle', samples: new Float32Array(1000).fill(0.5) }],
    })
    const result = alignFlights({ a: still(3), b: still(10) })
    expect(result).toMatchObject({ offset_s: -7, by: null, channel: null, sure: 'none' })
    expect(result.reason).toContain('first samples')
    expect(alignFlights({ a: { t_s: [], channels: [] }, b: still(0) }).sure).toBe('none')
  })
})

describe.skipIf(noSharedData)('alignment of the shared flights', () => {
  const load = (file: string, columns: Record<string, string>): AlignFlight => {
    const { t_s, column } = quadFlight(file)
    return { t_s, channels: Object.entries(columns).map(([name, key]) => ({ name, samples: column(key) })) }
  }
  const setpoints = {
    'setpoint.roll': 'target_rate.r',
    'setpoint.pitch': 'target_rate.p',
    'setpoint.yaw': 'target_rate.y',
  }
  const gains = (file: string, columns: Record<string, string>) => load(file, columns)

  // The two files fly the same trajectory: three independent channels must agree on the offset.
  test('the two gains flights: setpoints, throttle and gyro agree', () => {
    const by = (columns: Record<string, string>) =>
      alignFlights({ a: gains('gains-original.csv', columns), b: gains('gains-i0-d4.csv', columns) })
    const setpoint = by(setpoints)
    const throttle = by({ throttle: 'target_rate.thrust' })
    const gyro = by({ 'gyro.roll': 'real_rate.r', 'gyro.pitch': 'real_rate.p', 'gyro.yaw': 'real_rate.y' })
    expect(setpoint.sure).toBe('certain')
    expect(setpoint.r).toBeGreaterThan(0.9)
    expect(throttle.r).toBeGreaterThan(0.95)
    expect(Math.abs(setpoint.offset_s - throttle.offset_s)).toBeLessThan(0.02)
    expect(Math.abs(setpoint.offset_s - gyro.offset_s)).toBeLessThan(0.02)
  })

  // Shared data's README: the same path, best alignment 0.15 s by position.
  test('the two controller flights: 0.15 s, by gyro alone as there is nothing else', () => {
    const columns = {
      'gyro.roll': 'imu_gyro_x',
      'gyro.pitch': 'imu_gyro_y',
      throttle: 'pid_controller_cmd_thrust',
    }
    const result = alignFlights({
      a: load('controller-a.csv', columns),
      b: load('controller-b.csv', columns),
    })
    expect(result.by).toBe('gyro')
    expect(Math.abs(result.offset_s + 0.15)).toBeLessThan(0.02)
  })

  test('different trajectories are at most a guess', () => {
    const all = {
      ...setpoints,
      throttle: 'target_rate.thrust',
      'gyro.roll': 'real_rate.r',
      'gyro.yaw': 'real_rate.y',
    }
    const result = alignFlights({ a: gains('gains-original.csv', all), b: load('figure-eight.csv', all) })
    expect(['none', 'guess']).toContain(result.sure)
  })
})

describe('common grid', () => {
  test('averages a faster series and draws a slower one by straight lines', () => {
    const t_s = Float64Array.from({ length: 1001 }, (_, n) => n / 1000)
    const cells = onGrid(
      t_s,
      t_s.map((t) => 10 * t),
      100,
    )
    expect(cells.length).toBe(101)
    // A cell's mean lies up to half a sample of the source off its middle.
    for (let n = 1; n < 100; n++) expect(Math.abs(cells[n]! - n / 10)).toBeLessThan(0.0051)
    expect([...onGrid([0, 1, 2], [0, 10, 20], 2)].map((value) => Math.round(value))).toEqual([
      0, 5, 10, 15, 20,
    ])
  })

  test('a series that stands still has no standard form', () => {
    expect(standardised(new Float64Array(50).fill(3))).toBeNull()
    expect(standardised(Float64Array.of(NaN, NaN))).toBeNull()
    const form = standardised(normalInput(1, 5000))!
    expect(form.reduce((sum, value) => sum + value, 0) / 5000).toBeCloseTo(0, 10)
    expect(form.reduce((sum, value) => sum + value * value, 0) / 5000).toBeCloseTo(1, 10)
  })
})
