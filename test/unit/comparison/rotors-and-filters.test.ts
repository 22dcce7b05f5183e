/**
 * Rotor lines, filters and throttle events on simulated flights, whose truth is known, and the sums of method.md
 * sections 3, 9 and 11 that they rest on.
 */
import { describe, expect, test } from 'vitest'
import { demandOf } from '../../../workers/comparison/demand.ts'
import { filterEffect } from '../../../workers/comparison/filter-effect.ts'
import { flightEvents } from '../../../workers/comparison/flight-events.ts'
import { rotorOverlay } from '../../../workers/comparison/rotors.ts'
import { SHOWN_SIGNALS } from '../../../workers/comparison/shown-signals.ts'
import { signalFrequencyOf } from '../../../workers/comparison/signal-frequency.ts'
import { signalLane, spectrogramLane } from '../../../workers/comparison/spectra.ts'
import type { ChannelName, FlightSignals } from '../../../workers/flight/signals.ts'
import { POLE_PAIRS } from '../../../workers/model/craft.ts'
import { simulateFlight } from '../../../workers/model/flight.ts'
import { baseSetup, findScenario } from '../../../workers/model/scenarios.ts'
import { settingsSheet } from '../../../workers/model/settings-sheet.ts'
import { rotorFactsInSheet, sheetDelays } from '../../../workers/signal/sheet-delays.ts'
import { parseSheet } from '../../../workers/settings/parse-sheet.ts'
import { signalsOf } from '../manoeuvre/flown.ts'

const setup = baseSetup(11, { logRate_hz: 2000 })
const record = simulateFlight(setup)
const flight = signalsOf(record)
const end_s = flight.t_s.at(-1)!
const NOTHING_SAID = { blades: null, polePairs: null }

function without(signals: FlightSignals, gone: RegExp): FlightSignals {
  const channels = Object.fromEntries(
    (Object.entries(signals.channels) as [ChannelName, Float32Array][]).filter(([name]) => !gone.test(name)),
  )
  return { ...signals, channels }
}

/** The same flight with speeds that count pole pairs, as motor controllers give them. */
function electrical(signals: FlightSignals): FlightSignals {
  const channels: Partial<Record<ChannelName, Float32Array>> = { ...signals.channels }
  for (const motor of [1, 2, 3, 4] as const)
    channels[`speed.${motor}`] = signals.channels[`speed.${motor}`]!.map((rpm) => rpm * POLE_PAIRS)
  return { ...signals, channels, electricalSpeeds: true }
}

/** Median turns a second of all motors while they turn. */
function medianTurns(): number {
  const all = record.speed_revps.flatMap((speed) => Array.from(speed)).filter((turns) => turns > 20)
  return all.sort((a, b) => a - b)[all.length >> 1]!
}

describe('rotor lines', () => {
  test('from logged speeds stand where the rotors turned, and the gyro confirms it', () => {
    const found = rotorOverlay(flight, 0, end_s, { blades: 3, polePairs: null })
    if (found.kind === 'refused') throw new Error(found.reason)
    expect(found).toMatchObject({ from: 'logged', polePairs: 1, cautions: [] })
    expect(found.sentence).toContain('the gyro’s own lines lie there, too')
    expect(found.lines.map(({ name }) => name)).toEqual(['rotor', 'rotor ×2', 'blade pass (3)'])
    expect(found.lines[0]!.f_hz).toBeCloseTo(medianTurns(), 0)
    expect(found.lines[2]!.f_hz).toBeCloseTo(3 * found.lines[0]!.f_hz, 9)
    for (const { shown_hz, byThrottle_hz } of found.lines) {
      expect(shown_hz).toBeLessThanOrEqual(1000)
      expect(Math.max(...byThrottle_hz.filter((f) => f > 0))).toBeLessThanOrEqual(1000)
    }
  })

  test('of electrical speeds need the pole pairs: found by the gyro’s lines, or as given, with a caution when both differ', () => {
    const fast = electrical(flight)
    const found = rotorOverlay(fast, 0, end_s, NOTHING_SAID)
    if (found.kind === 'refused') throw new Error(found.reason)
    expect(found.polePairs).toBe(POLE_PAIRS)
    expect(found.lines[0]!.f_hz).toBeCloseTo(medianTurns(), 0)
    const said = rotorOverlay(fast, 0, end_s, { blades: null, polePairs: 12 })
    if (said.kind === 'refused') throw new Error(said.reason)
    expect(said.polePairs).toBe(12)
    expect(said.cautions.join()).toContain(`fit ${POLE_PAIRS} pole pairs better than 12`)
  })

  test('speeds called mechanical that count pole pairs are doubted aloud', () => {
    const { t_s, rate_hz, channels } = electrical(flight)
    const wrong = { t_s, rate_hz, channels }
    const found = rotorOverlay(wrong, 0, end_s, NOTHING_SAID)
    if (found.kind === 'refused') throw new Error(found.reason)
    expect(found.cautions.join()).toContain(`divided by ${POLE_PAIRS}: they may be electrical`)
  })

  test('where the gyro tells nothing, seven pole pairs are marked as a guess', () => {
    const silent = signalsOf(simulateFlight(baseSetup(4, { noise: 0, logRate_hz: 1000 })))
    const found = rotorOverlay(electrical(silent), 0, silent.t_s.at(-1)!, NOTHING_SAID)
    if (found.kind === 'refused') throw new Error(found.reason)
    expect(found.cautions.join()).toContain('is a guess')
  })

  test('without speeds a line that rises with the throttle is taken, marked so; without one it is refused', () => {
    const blind = without(flight, /^speed/)
    const found = rotorOverlay(blind, 0, end_s, { blades: 3, polePairs: null })
    if (found.kind === 'refused') throw new Error(found.reason)
    expect(found.from).toBe('found')
    expect(found.sentence).toContain('No motor speeds are logged')
    // The model's strongest line is the rotor's own: near the truth, whatever the throttle.
    expect(found.lines[0]!.f_hz / medianTurns()).toBeGreaterThan(0.85)
    expect(found.lines[0]!.f_hz / medianTurns()).toBeLessThan(1.15)
    expect(rotorOverlay(without(blind, /throttle/), 0, end_s, NOTHING_SAID)).toMatchObject({
      kind: 'refused',
    })
  })

  test('fold at half the rate: 1200 Hz in a log of 2 kHz shows at 800 Hz (method.md section 11)', () => {
    const rate_hz = 2000
    const t_s = Float64Array.from({ length: 8000 }, (_, n) => n / rate_hz)
    const rpm = new Float32Array(8000).fill(24_000)
    const made = { t_s, rate_hz, channels: { 'speed.1': rpm, 'speed.2': rpm, 'speed.3': rpm } }
    const found = rotorOverlay(made, 0, 4, { blades: 3, polePairs: null })
    if (found.kind === 'refused') throw new Error(found.reason)
    // 24,000 rpm: 400 Hz; three blades 1200 Hz (method.md section 9).
    expect(found.lines.map(({ f_hz }) => f_hz)).toEqual([400, 800, 1200])
    expect(found.lines.map(({ shown_hz, folded }) => [shown_hz, folded])).toEqual([
      [400, false],
      [800, false],
      [800, true],
    ])
  })
})

const settings = (text: string) => parseSheet(text).settings

describe('the gyro’s filters', () => {
  const sheet = settings(settingsSheet(setup.craft, setup.tune))

  test('cost the delay that their description says: from both gyros, and from the settings sheet', () => {
    const described = sheetDelays(sheet, 2000)
    if (typeof described === 'string') throw new Error(described)
    const gyro = described.find(({ place }) => place === 'gyro')!
    expect(gyro.filters).toEqual(['low-pass 130 Hz', 'notch 225 Hz'])
    const measured = filterEffect(flight, 'roll', 0, end_s)
    if (measured.kind === 'refused' || measured.delay.kind === 'refused' || gyro.slow.kind === 'refused')
      throw new Error('refused')
    expect(Math.abs(measured.delay.value - gyro.slow.value)).toBeLessThan(0.03)
    expect(measured.delay).toMatchObject({ unit: 'ms', method: { id: 'filter-effect' } })
    // The chain has taken half of the power where the low-pass and the notch together say: below 130 Hz.
    expect(measured.corner).toMatchObject({ kind: 'given', unit: 'Hz' })
    if (measured.corner.kind === 'given') expect(measured.corner.value).toBeGreaterThan(90)
    if (measured.corner.kind === 'given') expect(measured.corner.value).toBeLessThan(135)
  })

  test.each([
    // SciPy, method.md section 3: biquad low-pass 100 Hz Q .7071 at 2 kHz: 2.232 ms DC, 2.640 at 50 Hz.
    ['gyro low-pass Hz = 100\ngyro low-pass order = 2\nloop rate Hz = 2000', 2.232, 2.64],
    // Notch 200 Hz Q 5 at 8 kHz: .1588 ms at DC.
    ['notch Hz = 200\nnotch q = 5\nloop rate Hz = 8000', 0.1588, null],
    // First-order low-pass 100 Hz, analog 1.5915 ms at DC; bilinear at 2 kHz is a little less warped at DC: tan(pi/20)/(pi/20).
    ['D lowpass: 100\norder: 1\nloop rate Hz: 2000', 1.5785, null],
  ])('group delay of %j', (text, slow_ms, busy_ms) => {
    const found = sheetDelays(settings(text), 1000)
    if (typeof found === 'string') throw new Error(found)
    const { slow, busy } = found[0]!
    if (slow.kind === 'refused' || busy.kind === 'refused') throw new Error('refused')
    expect(slow.value).toBeCloseTo(slow_ms, 3)
    if (busy_ms !== null) expect(busy.value).toBeCloseTo(busy_ms, 3)
  })

  test('what the sheet leaves open is said; without sheet or filters a sentence stands', () => {
    const found = sheetDelays(settings('gyro low-pass Hz = 90'), 500)
    if (typeof found === 'string') throw new Error(found)
    expect(found[0]!.slow.cautions.join(' ')).toContain('first order')
    expect(found[0]!.slow.cautions.join(' ')).toContain('does not name the loop’s rate')
    expect(sheetDelays([], 1000)).toContain('no settings sheet')
    expect(sheetDelays(settings('roll P = 1.1'), 1000)).toContain('no filter')
    expect(filterEffect(without(flight, /^unfiltered/), 'roll', 0, end_s)).toMatchObject({
      kind: 'refused',
      reason: 'The log holds no unfiltered gyro beside the filtered one.',
    })
  })

  test('propeller and poles are read from the sheet by their words', () => {
    expect(rotorFactsInSheet(sheet)).toEqual({ blades: 3, polePairs: POLE_PAIRS })
    expect(rotorFactsInSheet(settings('motor magnets: 14\nprop_blades: 2'))).toEqual({
      blades: 2,
      polePairs: 7,
    })
    expect(rotorFactsInSheet(settings('gyro low-pass Hz = 90'))).toEqual({ blades: null, polePairs: null })
    expect(rotorFactsInSheet([])).toEqual({ blades: null, polePairs: null })
  })
})

describe('any signal', () => {
  test('has a spectrum, a map and a spectrogram, or a sentence', () => {
    for (const signal of SHOWN_SIGNALS) {
      const { a } = signalFrequencyOf(flight, flight, 0, 0, end_s, 'roll', signal)
      const logged = !['pTerm', 'feedForward'].includes(signal)
      expect(`${signal} ${'density' in a.spectrum}`).toBe(`${signal} ${logged}`)
      if (!('density' in a.spectrum)) expect(a.spectrum.reason).toMatch(/^The log holds no .*axis\.$/)
      expect(signalLane(flight, signal, 'roll', 10, 20, 200) !== null).toBe(logged)
    }
    expect(signalLane(flight, 'gyro', 'yaw', 10, 20, 200)).toEqual(
      spectrogramLane(flight, 'yaw', 10, 20, 200),
    )
  })

  test('against itself differs by nothing; the filtered gyro is quieter than the unfiltered one up high', () => {
    const same = signalFrequencyOf(flight, flight, 0, 0, end_s, 'pitch', 'dTerm')
    if ('kind' in same.difference) throw new Error(same.difference.reason)
    expect(same.difference.overall_db).toBe(0)
    const of = (signal: 'gyro' | 'unfiltered') => {
      const { spectrum } = signalFrequencyOf(flight, flight, 0, 0, end_s, 'roll', signal).a
      if ('kind' in spectrum) throw new Error(spectrum.reason)
      return spectrum.density[spectrum.f_hz.findIndex((f_hz) => f_hz > 500)]!
    }
    expect(of('gyro')).toBeLessThan(0.05 * of('unfiltered'))
  })
})

describe('throttle events and demand', () => {
  const wash = signalsOf(simulateFlight(findScenario('wash').setup(2)))

  test('prop wash is summed up with its interval and number, in dB', () => {
    const { wash: found, drops } = flightEvents(wash, 0, wash.t_s.at(-1)!)
    expect(drops).toBeGreaterThanOrEqual(8)
    if (found.roll.kind === 'refused') throw new Error(found.roll.reason)
    expect(found.roll).toMatchObject({ unit: 'dB', segments: drops, method: { id: 'prop-wash' } })
    expect(found.roll.value).toBeGreaterThan(3)
    expect(found.roll.interval!.low).toBeLessThan(found.roll.value)
    expect(found.roll.interval!.high).toBeGreaterThan(found.roll.value)
  })

  test('what a log lacks is said once, and headroom is given all the same', () => {
    const found = flightEvents(without(wash, /^throttle|^setpoint/), 0, 30)
    expect(found.wash.roll).toMatchObject({ kind: 'refused', reason: 'The log holds no throttle.' })
    expect(found.headroom.atTop).toMatchObject({ kind: 'given', unit: '%' })
    const deaf = flightEvents(without(wash, /^setpoint.yaw|^motor/), 0, 30)
    expect(deaf.drift.roll).toMatchObject({ reason: 'The log holds no setpoint for yaw.' })
    expect(deaf.headroom.atTop).toMatchObject({ kind: 'refused' })
  })

  test('small and large demands are split, or refused with the reason', () => {
    const found = demandOf(flight, 0, end_s, 'roll')
    expect(found.split_dps).toBeGreaterThan(50)
    for (const part of [found.small, found.large])
      if (part.kind === 'refused') expect(part.reason).toMatch(/\.$/)
    expect(demandOf(without(flight, /^setpoint/), 0, end_s, 'roll').small).toMatchObject({
      kind: 'refused',
      reason: 'The log holds no setpoint for this axis.',
    })
  })
})
