import { beforeAll, describe, expect, test } from 'vitest'
import type { FlightSignals } from '../../../workers/flight/signals.ts'
import { detectManoeuvres } from '../../../workers/manoeuvre/detect.ts'
import { Random } from '../../../workers/model/random.ts'
import { simulateFlight } from '../../../workers/model/flight.ts'
import { baseSetup, findScenario } from '../../../workers/model/scenarios.ts'
import { median } from '../../../workers/statistics/moments.ts'
import { measurable, measureAnswers } from '../../../workers/verdict/answers.ts'
import type { Answer, MeasureKey } from '../../../workers/verdict/comparison.ts'
import { evenFlight } from '../../../workers/verdict/even-flight.ts'
import { bandLevels, commonBands } from '../../../workers/verdict/noise-bands.ts'
import { signalsOf } from '../manoeuvre/flown.ts'

function answersOf(signals: FlightSignals): Record<string, Answer> {
  const flight = measurable(signals, evenFlight(signals), detectManoeuvres(signals))
  return measureAnswers(flight, commonBands(signals.rate_hz, signals.rate_hz))
}

const valuesOf = (answers: Record<string, Answer>, key: MeasureKey) =>
  Object.values(answers).flatMap(({ values }) => values[key] ?? [])

describe('answers on simulated flights', () => {
  let base: Record<string, Answer>
  let washy: Record<string, Answer>
  let still: Record<string, Answer>
  beforeAll(() => {
    base = answersOf(signalsOf(simulateFlight(baseSetup(5, { logRate_hz: 500 }))))
    const wash = findScenario('wash').setup(5)
    const strength = (share: number) =>
      answersOf(
        signalsOf(simulateFlight({ ...wash, logRate_hz: 500, trouble: { ...wash.trouble, wash: share } })),
      )
    washy = strength(1)
    still = strength(0)
  }, 60_000)

  test('every stop has a tracking error and a bounce-back, most a lag', () => {
    expect(valuesOf(base, 'trackingError.roll').length).toBe(12)
    expect(valuesOf(base, 'bouncePeak.pitch').length).toBe(12)
    expect(valuesOf(base, 'lag.roll').length).toBeGreaterThanOrEqual(11)
    expect(median(valuesOf(base, 'lag.roll'))).toBeGreaterThan(10)
    expect(median(valuesOf(base, 'lag.roll'))).toBeLessThan(30)
  })

  test('wash stands out of the quiet baseline by more than 10 dB; without any, catches hardly do', () => {
    expect(valuesOf(washy, 'washScore.roll').length).toBeGreaterThanOrEqual(10)
    expect(median(valuesOf(washy, 'washScore.roll'))).toBeGreaterThan(15)
    expect(median(valuesOf(still, 'washScore.roll'))).toBeLessThan(6)
  })

  test('throttle steps and hovering have their answers', () => {
    expect(valuesOf(base, 'throttleDrift.roll').length).toBeGreaterThanOrEqual(3)
    for (const drift of valuesOf(base, 'throttleDrift.roll')) expect(drift).toBeGreaterThanOrEqual(0)
    expect(valuesOf(base, 'noiseLow.roll').length).toBeGreaterThan(10)
    expect(valuesOf(base, 'motorTop.craft').every((share) => share >= 0 && share <= 100)).toBe(true)
  })
})

describe('noise bands', () => {
  const rate_hz = 1000
  const tone = (f_hz: number, amplitude: number): FlightSignals => {
    const t_s = Float64Array.from({ length: 1000 }, (_, n) => n / rate_hz)
    const gyro = Float32Array.from(t_s, (t) => amplitude * Math.sin(2 * Math.PI * f_hz * t))
    return { t_s, rate_hz, channels: { 'gyro.roll': gyro } }
  }
  const bands = commonBands(rate_hz, rate_hz)

  test('a tone counts in its band with its mean square A^2/2, 20 dB more for ten times', () => {
    const quiet = bandLevels(tone(50, 2), 0.1, 0.6, bands)
    expect(quiet['noiseLow.roll']).toBeCloseTo(10 * Math.log10(2), 1)
    expect(quiet['noiseHigh.roll']!).toBeLessThan(quiet['noiseLow.roll']! - 40)
    const loud = bandLevels(tone(50, 20), 0.1, 0.6, bands)
    expect(loud['noiseLow.roll']! - quiet['noiseLow.roll']!).toBeCloseTo(20, 3)
    expect(bandLevels(tone(200, 2), 0.1, 0.6, bands)['noiseHigh.roll']).toBeCloseTo(10 * Math.log10(2), 1)
  })

  test('white noise of sigma 3: 9 times the share of the band', () => {
    const random = new Random(2)
    const signals = tone(1, 0)
    const levels = Array.from({ length: 60 }, () => {
      const gyro = Float32Array.from(signals.t_s, () => 3 * random.normal())
      return (
        10 **
        (bandLevels({ ...signals, channels: { 'gyro.roll': gyro } }, 0.1, 0.6, bands)['noiseLow.roll']! / 10)
      )
    })
    const power = levels.reduce((sum, value) => sum + value, 0) / levels.length
    expect(power / ((9 * 60) / 500)).toBeGreaterThan(0.9)
    expect(power / ((9 * 60) / 500)).toBeLessThan(1.1)
  })

  test('the slower log decides the band; a slow one shows none; a gap gives nothing', () => {
    expect(commonBands(2000, 500)).toEqual({ low_hz: [20, 80], high_hz: [80, 225] })
    expect(commonBands(100, 2000)).toEqual({ low_hz: null, high_hz: null })
    const signals = tone(50, 2)
    const gap = { ...signals, t_s: signals.t_s.map((t, n) => (n > 400 ? t + 0.05 : t)) }
    expect(bandLevels(gap, 0.1, 0.6, bands)).toEqual({})
  })
})
