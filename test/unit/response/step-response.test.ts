import { describe, expect, test } from 'vitest'
import { AXES } from '../../../workers/flight/axes.ts'
import { closedLoop } from '../../../workers/response/closed-loop.ts'
import { fitSecondOrder } from '../../../workers/response/output-error.ts'
import { secondOrderResponse, simulateSecondOrder } from '../../../workers/response/second-order.ts'
import { stepFigures } from '../../../workers/response/step-figures.ts'
import { demandMask } from '../../../workers/response/response-series.ts'
import { stepResponse, type StepResponse } from '../../../workers/response/step-response.ts'
import { crossSpectra } from '../../../workers/signal/cross-spectra.ts'
import { normalInput } from '../signal/series.ts'
import { disturbed, flownFlight, knownLoop, LOG_HZ, type KnownLoop } from './loop.ts'

const flight = flownFlight()
const loops = AXES.map((axis) => knownLoop(flight, axis))

const respond = (loop: KnownLoop, rms_dps: number, seed: number) =>
  stepResponse({ setpoint: loop.setpoint, gyro: disturbed(loop.gyro, rms_dps, seed), rate_hz: LOG_HZ })

/** Share of the curve's points at which the truth lies inside the band. */
function covered({ t_s, curve }: StepResponse, loop: KnownLoop): number {
  let inside = 0
  t_s.forEach((t, n) => {
    const truth = t <= 0 ? 0 : loop.step[Math.round(t * loop.stepRate_hz)]!
    if (curve.interval!.low[n]! <= truth && truth <= curve.interval!.high[n]!) inside++
  })
  return inside / t_s.length
}

describe('step response of the simulated loops', () => {
  // Required: the true response inside the band for 90 % of 40 seeds at three noise levels, or else the caution.
  test.each([1, 4, 12])(
    'is inside its band, or carries a caution, in 36 of 40 flights at %f deg/s of noise',
    (rms) => {
      let good = 0
      let inside = 0
      let all = 0
      for (let seed = 0; seed < 40; seed++) {
        const loop = loops[seed % 2 === 0 ? 0 : 1]!
        const result = respond(loop, rms, 100 + 17 * seed)
        if (result.kind === 'refused') {
          good++
          continue
        }
        all++
        const whole = covered(result, loop) >= 0.95
        if (whole) inside++
        if (whole || result.curve.cautions.length > 0) good++
      }
      expect(good).toBeGreaterThanOrEqual(36)
      // Cautions must not be the excuse: where a curve is given, its band is right by itself.
      expect(inside).toBeGreaterThanOrEqual(0.9 * all)
    },
  )

  test.each([
    ['roll', 0],
    ['pitch', 1],
  ])('%s: figures come near the truth and hold it in their intervals', (_, index) => {
    const loop = loops[index]!
    const truth = stepFigures(loop.step, loop.stepRate_hz)
    const result = respond(loop, 2, 5)
    if (result.kind === 'refused') throw new Error(result.reason)
    for (const name of [
      'rise_s',
      'fullRise_s',
      'half_s',
      'peak_s',
      'settle5_s',
      'overshoot_percent',
    ] as const) {
      const figure = result.figures[name]
      if (figure.kind === 'refused') throw new Error(`${name}: ${figure.reason}`)
      const scale = figure.unit === 'ms' ? 1000 : 1
      expect(figure.interval!.low).toBeLessThanOrEqual(truth[name]! * scale)
      expect(figure.interval!.high).toBeGreaterThanOrEqual(truth[name]! * scale)
      expect(Math.abs(figure.value - truth[name]! * scale)).toBeLessThan(
        Math.max(1.5, 0.1 * truth[name]! * scale),
      )
    }
  })

  test('a loop that is not of second order is said to be so', () => {
    const result = respond(loops[2]!, 1, 3)
    if (result.kind === 'refused') throw new Error(result.reason)
    expect(result.lackOfFit).toBeGreaterThan(0.05)
    expect(result.curve.cautions.join(' ')).toContain('compare A with B')
  })

  test('the whole flight, with wind, wash, vibration and limits, comes near the linear truth', () => {
    for (const [index, axis] of AXES.entries()) {
      if (axis === 'yaw') continue
      const result = stepResponse({
        setpoint: flight.setpoint_dps[index]!,
        gyro: flight.gyro_dps[index]!,
        rate_hz: LOG_HZ,
      })
      if (result.kind === 'refused') throw new Error(result.reason)
      // Thrust curve, battery and motors bend the loop: no more than a tenth of the step anywhere.
      result.t_s.forEach((t, n) => {
        const truth = t <= 0 ? 0 : loops[index]!.step[Math.round(t * loops[index]!.stepRate_hz)]!
        expect(Math.abs(result.curve.value[n]! - truth)).toBeLessThan(0.1)
      })
    }
  })

  test('does not depend on the scale of the flying, nor on steady offsets', () => {
    const { setpoint, gyro } = loops[0]!
    const plain = stepResponse({ setpoint, gyro, rate_hz: LOG_HZ })
    const scaled = stepResponse({
      setpoint: setpoint.map((value) => 0.2 * value),
      gyro: gyro.map((value) => 0.2 * value + 3),
      rate_hz: LOG_HZ,
    })
    if (plain.kind === 'refused' || scaled.kind === 'refused') throw new Error('refused')
    plain.curve.value.forEach((value, n) => expect(scaled.curve.value[n]).toBeCloseTo(value, 4))
  })

  test('leaves out what the motors had no room for, and says so', () => {
    const { setpoint, gyro } = loops[0]!
    const spoilt = gyro.slice()
    const limited = new Uint8Array(gyro.length)
    for (let n = 20_000; n < 22_500; n++) {
      spoilt[n] = 0
      limited[n] = 1
    }
    const plain = stepResponse({ setpoint, gyro, rate_hz: LOG_HZ })
    const masked = stepResponse({ setpoint, gyro: spoilt, rate_hz: LOG_HZ, limited })
    if (plain.kind === 'refused' || masked.kind === 'refused') throw new Error('refused')
    expect(masked.curve.exclusions[0]!.share).toBeCloseTo(2500 / gyro.length, 3)
    expect(masked.curve.cautions.join(' ')).toContain('Motors stood at their limit')
    masked.curve.value.forEach((value, n) =>
      expect(Math.abs(value - plain.curve.value[n]!)).toBeLessThan(0.03),
    )
  })

  test('refuses, with the reason', () => {
    const { setpoint, gyro } = loops[0]!
    const reason = (series: Partial<Parameters<typeof stepResponse>[0]>) => {
      const result = stepResponse({ setpoint, gyro, rate_hz: LOG_HZ, ...series })
      return result.kind === 'refused' ? result.reason : 'given'
    }
    const quiet = setpoint.map((value) => 0.01 * value)
    expect(reason({ setpoint: quiet })).toContain('hardly moves')
    expect(reason({ gyro: normalInput(2, gyro.length) })).toMatch(/go together only|follows the setpoint/)
    expect(reason({ setpoint: setpoint.subarray(0, 6000), gyro: gyro.subarray(0, 6000) })).toContain(
      'needs more flight',
    )
    expect(reason({ setpoint: setpoint.subarray(0, 900), gyro: gyro.subarray(0, 900) })).toContain(
      'no 2 s in a row',
    )
    const limited = gyro.map((_, n) => (n % 10_000 < 4000 ? 1 : 0))
    expect(reason({ limited })).toContain('at their limit')
  })
})

describe('demands apart', () => {
  const { setpoint, gyro } = loops[0]!
  const split_dps = 150

  test('every sample belongs to the small or to the large demands', () => {
    const small = demandMask(setpoint, LOG_HZ, split_dps, 'small')
    const large = demandMask(setpoint, LOG_HZ, split_dps, 'large')
    small.forEach((left, n) => expect(left + large[n]!).toBe(1))
    setpoint.forEach((value, n) => Math.abs(value) > split_dps && expect(small[n]).toBe(1))
    expect(small.some((left) => left === 0)).toBe(true)
  })

  test('a linear loop answers small and large demands alike', () => {
    const only = (keep: 'small' | 'large') =>
      stepResponse({
        setpoint,
        gyro: disturbed(gyro, 0.3, 4),
        rate_hz: LOG_HZ,
        skipped: demandMask(setpoint, LOG_HZ, split_dps, keep),
        skippedWhat: 'other demands',
      })
    const large = only('large')
    if (large.kind === 'refused') throw new Error(large.reason)
    expect(large.curve.exclusions[0]).toMatchObject({ what: 'other demands' })
    expect(covered(large, loops[0]!)).toBeGreaterThan(0.9)
    const small = only('small')
    // Where too few small demands were flown, that is said; else they give the same curve.
    if (small.kind === 'refused')
      expect(small.reason).toMatch(/needs more flight|hardly moves|go together|in a row/)
    else expect(covered(small, loops[0]!)).toBeGreaterThan(0.8)
  })
})

describe('output-error fit', () => {
  test('finds the system that made the data, from noise of a fifth of the signal', () => {
    const system = { gain: 0.95, natural_radps: 2 * Math.PI * 11, damping: 0.55, delay_s: 0.008 }
    const input = loops[0]!.setpoint.filter((_, n) => n % 4 === 0)
    const output = new Float64Array(input.length)
    simulateSecondOrder(system, input, 250, output)
    const noise = normalInput(8, output.length)
    const gyro = output.map((value, n) => value + 20 * noise[n]! + 4)
    const fit = fitSecondOrder(input, gyro, 250, [{ start: 0, end: input.length }])!
    expect(fit.settled).toBe(true)
    expect(fit.system.gain).toBeCloseTo(0.95, 2)
    expect(fit.system.natural_radps / system.natural_radps).toBeCloseTo(1, 1)
    expect(fit.system.damping).toBeCloseTo(0.55, 1)
    expect(Math.abs(fit.system.delay_s - 0.008)).toBeLessThan(0.002)
    expect(fit.offset).toBeCloseTo(4, 0)
    expect(Math.sqrt(fit.residual)).toBeCloseTo(20, 0)
  })

  test('has nothing to say about a short stretch', () => {
    expect(
      fitSecondOrder(new Float64Array(90), new Float64Array(90), 250, [{ start: 0, end: 90 }]),
    ).toBeNull()
  })
})

describe('closed loop', () => {
  const system = { gain: 1, natural_radps: 2 * Math.PI * 12, damping: 0.4, delay_s: 0.006 }
  const input = normalInput(1, 60_000)
  for (let n = 1; n < input.length; n++) input[n] = 0.9 * input[n - 1]! + input[n]!
  const output = new Float64Array(input.length)
  simulateSecondOrder(system, input, 500, output)
  const noise = normalInput(2, input.length)
  const response = closedLoop(
    crossSpectra(
      input,
      output.map((value, n) => value + 0.2 * noise[n]!),
      {
        rate_hz: 500,
        segment: 1024,
        detrend: 'none',
      },
    ),
  )

  test('magnitude and phase are those of the system where coherent', () => {
    response.f_hz.forEach((f_hz, k) => {
      if (f_hz < 1 || f_hz > 30) return
      const { re, im } = secondOrderResponse(system, f_hz)
      expect(response.coherent[k]).toBe(1)
      expect(Math.abs(response.magnitude_db[k]! - 20 * Math.log10(Math.hypot(re, im)))).toBeLessThan(0.6)
      const turn = (response.phase_deg[k]! - (Math.atan2(im, re) * 180) / Math.PI) / 360
      expect(Math.abs(turn - Math.round(turn)) * 360).toBeLessThan(4)
    })
  })

  test('bandwidth and resonance are those of the system (closed forms)', () => {
    const z2 = 2 * system.damping ** 2
    const bandwidth = 12 * Math.sqrt(1 - z2 + Math.sqrt((1 - z2) ** 2 + 1))
    const peak_db = -20 * Math.log10(2 * system.damping * Math.sqrt(1 - system.damping ** 2))
    if (response.bandwidth.kind === 'refused') throw new Error(response.bandwidth.reason)
    if (response.resonance_db.kind === 'refused') throw new Error(response.resonance_db.reason)
    if (response.resonance_hz.kind === 'refused') throw new Error(response.resonance_hz.reason)
    expect(Math.abs(response.bandwidth.value - bandwidth)).toBeLessThan(0.5)
    expect(response.resonance_db.value).toBeCloseTo(peak_db, 0)
    expect(Math.abs(response.resonance_hz.value - 12 * Math.sqrt(1 - z2))).toBeLessThan(1)
  })

  test('refuses a bandwidth beyond the coherence', () => {
    const slow = input.slice()
    for (let pass = 0; pass < 4; pass++) {
      for (let n = 1; n < slow.length; n++) slow[n] = 0.96 * slow[n - 1]! + 0.04 * slow[n]!
    }
    const answer = new Float64Array(slow.length)
    simulateSecondOrder(system, slow, 500, answer)
    const spectra = crossSpectra(
      slow,
      answer.map((value, n) => value + 0.2 * noise[n]!),
      {
        rate_hz: 500,
        segment: 1024,
        detrend: 'none',
      },
    )
    const { bandwidth, lastCoherent_hz } = closedLoop(spectra)
    expect(lastCoherent_hz).toBeGreaterThan(2)
    expect(lastCoherent_hz).toBeLessThan(15)
    expect(bandwidth.kind === 'refused' && bandwidth.reason).toContain('where coherence ends')
  })

  test('the phase slope of a pure delay is that delay', () => {
    const late = input.map((_, n) => input[n - 4] ?? 0)
    const spectra = crossSpectra(
      input,
      late.map((value, n) => value + 0.1 * noise[n]!),
      { rate_hz: 500, segment: 1024 },
    )
    const { phaseDelay } = closedLoop(spectra)
    if (phaseDelay.kind === 'refused') throw new Error(phaseDelay.reason)
    expect(Math.abs(phaseDelay.value - 8)).toBeLessThan(0.05)
  })
})
