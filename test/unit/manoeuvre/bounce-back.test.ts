import { describe, expect, test } from 'vitest'
import { bounceBack, SETTLED_DPS } from '../../../workers/manoeuvre/bounce-back.ts'
import { Random } from '../../../workers/model/random.ts'

const RATE_HZ = 500

/** A turn of 500 deg/s that stops at 0.3 s within 0.1 s; the gyro follows `lag_s` later and then rings. */
function stopped(
  ring: { A: number; zeta: number; f_hz: number },
  lag_s = 0,
  sigma = 0,
  direction: 1 | -1 = 1,
) {
  const random = new Random(9)
  const told = (t: number) => direction * 500 * Math.min(1, Math.max(0, (0.3 - t) / 0.1))
  const w = 2 * Math.PI * ring.f_hz
  const s = (ring.zeta * w) / Math.sqrt(1 - ring.zeta ** 2)
  const count = RATE_HZ
  const setpoint = Float64Array.from({ length: count }, (_, n) => told(n / RATE_HZ))
  const gyro = Float64Array.from({ length: count }, (_, n) => {
    const t = n / RATE_HZ
    const since = t - 0.3 - lag_s
    // Back past zero first: a sine that starts against the turn.
    const bounce = since > 0 ? -direction * ring.A * Math.exp(-s * since) * Math.sin(w * since) : 0
    return told(t - lag_s) + bounce + sigma * random.normal()
  })
  return { setpoint, gyro, rate_hz: RATE_HZ, at: 0.3 * RATE_HZ, end: 0.7 * RATE_HZ, direction, lag_s }
}

describe('bounce-back of a stop', () => {
  const ring = { A: 60, zeta: 0.2, f_hz: 10 }
  /** First extreme of e^(-s t) sin(w t): at tan(w t) = w/s. */
  const w = 2 * Math.PI * 10
  const s = (0.2 * w) / Math.sqrt(1 - 0.04)
  const first_s = Math.atan2(w, s) / w
  const peak = 60 * Math.exp(-s * first_s) * Math.sin(w * first_s)
  /** Area of the first half wave: w (1 + e^(-s pi/w)) / (s^2 + w^2). */
  const area = (60 * w * (1 + Math.exp((-s * Math.PI) / w))) / (s * s + w * w)

  test('peak, angle, frequency, damping of a known ring', () => {
    const found = bounceBack(stopped(ring))!
    expect(found.shape).toMatch(/ring/)
    // Means over 12 ms flatten a 10 Hz peak by about 2 %.
    expect(found.peak_dps / peak).toBeGreaterThan(0.96)
    expect(found.peak_dps / peak).toBeLessThan(1.005)
    expect(found.angle_deg).toBeCloseTo(area, 1)
    expect(found.ringFrequency_hz).toBeCloseTo(10, 1)
    expect(found.dampingRatio).toBeCloseTo(0.2, 2)
    expect(found.explained).toBeGreaterThan(0.99)
    expect(found.t_s.length).toBe(found.fit_dps.length)
    expect(found.data_dps.length).toBe(found.fit_dps.length)
  })

  test('settles where the envelope says, within half a swing', () => {
    const found = bounceBack(stopped(ring))!
    const envelope_s = Math.log(60 / SETTLED_DPS) / s
    expect(found.settle_s!).toBeLessThan(envelope_s + 0.01)
    expect(found.settle_s!).toBeGreaterThan(envelope_s - 0.05)
  })

  test('a gyro that only comes late has no bounce: the delay is allowed for', () => {
    const late = stopped({ A: 0, zeta: 0.5, f_hz: 10 }, 0.03)
    const found = bounceBack(late)!
    expect(found.peak_dps).toBeLessThan(0.5)
    expect(found.angle_deg).toBeLessThan(0.01)
    expect(bounceBack({ ...late, lag_s: 0 })!.settle_s!).toBeGreaterThan(0.01)
  })

  test('the other way round it is the same', () => {
    const there = bounceBack(stopped(ring, 0.01, 2))!
    const back = bounceBack(stopped(ring, 0.01, 0, -1))!
    expect(back.peak_dps).toBeCloseTo(bounceBack(stopped(ring, 0.01))!.peak_dps, 6)
    expect(there.peak_dps / back.peak_dps).toBeGreaterThan(0.9)
    expect(there.peak_dps / back.peak_dps).toBeLessThan(1.1)
  })

  test('noise alone rings little and names no ring', () => {
    const found = bounceBack(stopped({ A: 0, zeta: 0.5, f_hz: 10 }, 0, 2))!
    expect(found.peak_dps).toBeLessThan(6)
    expect(found.ringFrequency_hz).toBeNull()
  })

  test('too short, or with a gap: nothing', () => {
    const stop = stopped(ring)
    expect(bounceBack({ ...stop, end: 0.35 * RATE_HZ })).toBeNull()
    const gyro = stop.gyro.slice()
    gyro[200] = NaN
    expect(bounceBack({ ...stop, gyro })).toBeNull()
  })

  test('a slow recovery is the I-term’s where that relaxes along with it, whichever way the craft turned', () => {
    for (const direction of [1, -1] as const) {
      const stop = stopped({ A: 0, zeta: 0.5, f_hz: 10 }, 0, 1, direction)
      const slow = (n: number) => Math.exp(-Math.max(0, n / RATE_HZ - 0.3) / 0.12)
      const gyro = stop.gyro.map((value, n) => (n >= 150 ? value - direction * 40 * slow(n) : value))
      const along = gyro.map((_, n) => -direction * 0.1 * slow(n) + 0.02)
      const relaxes = (iTerm: Float64Array | null) => bounceBack({ ...stop, gyro, iTerm })!.iTermRelaxes
      expect(bounceBack({ ...stop, gyro })!.shape).toBe('slow')
      expect(relaxes(along)).toBe(true)
      // Its scale is nobody's business; the other way round, or at rest, it is not the cause.
      expect(relaxes(along.map((value) => 1000 * value))).toBe(true)
      expect(relaxes(along.map((value) => -value))).toBe(false)
      expect(relaxes(along.map(() => 0.1))).toBe(false)
      expect(relaxes(along.map((value, n) => (n === 200 ? NaN : value)))).toBe(false)
      expect(relaxes(null)).toBeNull()
    }
  })
})
