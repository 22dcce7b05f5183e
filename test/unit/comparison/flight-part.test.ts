import { expect, test } from 'vitest'
import { filterEffect } from '../../../workers/comparison/filter-effect.ts'
import { flightPart } from '../../../workers/comparison/flight-part.ts'
import { signalFrequency } from '../../../workers/comparison/signal-frequency.ts'
import { coherence, crossSpectra } from '../../../workers/signal/cross-spectra.ts'
import { noiseMap } from '../../../workers/signal/noise-map.ts'
import { runsBetween, runsOf } from '../../../workers/signal/segments.ts'
import { welch } from '../../../workers/signal/welch.ts'
import { normalInput } from '../signal/series.ts'
import { syntheticFlight } from './synthetic-flight.ts'

/** With a gap of the clock, missing samples on one axis and in the throttle, and noise to make spectra of. */
function gappedFlight() {
  const flight = syntheticFlight({ rate_hz: 1000, duration_s: 40 })
  for (let n = 15_000; n < flight.t_s.length; n++) flight.t_s[n]! += 0.2
  const gyro = flight.channels['gyro.roll']!
  normalInput(4, gyro.length).forEach((value, n) => (gyro[n]! += 5 * value))
  const unfiltered = gyro.map((value, n) => value + 0.5 * (gyro[n - 1] ?? 0))
  gyro.fill(NaN, 22_000, 22_003)
  flight.channels.throttle!.fill(NaN, 30_000, 30_010)
  return { ...flight, channels: { ...flight.channels, 'unfiltered.roll': unfiltered } }
}

test.each([[[]], [[0]], [[10, 3, 3, 40]], [[99, 100, 200]]])('runs between breaks %j alone', (breaks) => {
  expect(runsBetween(100, breaks)).toEqual(runsOf([new Float32Array(100)], breaks))
  expect(runsBetween(0, breaks)).toEqual([])
})

test('stretches without gap and NaN are those of the samples themselves', () => {
  const flight = gappedFlight()
  const part = flightPart(flight, 1, 35)
  expect(part.breaks).toHaveLength(1)
  const names = ['gyro.roll', 'gyro.pitch', 'throttle'] as const
  for (const one of names) {
    expect(part.runs([one])).toEqual(runsOf([part.samples(one)!], part.breaks))
    for (const other of names)
      expect(part.runs([one, other])).toEqual(runsOf([part.samples(one)!, part.samples(other)!], part.breaks))
  }
  expect(part.runs(['gyro.pitch'])).toHaveLength(2)
  expect(part.runs(['gyro.roll'])).toHaveLength(3)
})

test.each(['roll', 'pitch'] as const)('what is shared changes no spectrum and no map: %s', (axis) => {
  const flight = gappedFlight()
  const { spectrum, noise } = signalFrequency(flight, axis, 'gyro', 0, 41, 128)
  const { breaks } = flightPart(flight, 0, 41)
  const gyro = flight.channels[`gyro.${axis}`]!
  const options = { rate_hz: 1000, breaks, single: true }
  expect(spectrum).toEqual(welch(gyro, { ...options, segment: 1024 }))
  expect(noise).toEqual(noiseMap(gyro, flight.channels.throttle!, { rate_hz: 1000, segment: 128, breaks }))
})

test('steps of the gyro from a missing sample take no part in what the filters do', () => {
  const flight = gappedFlight()
  const effect = filterEffect(flight, 'roll', 0, 41)
  if (effect.kind === 'refused') throw new Error(effect.reason)
  const steps = (values: Float32Array) => values.map((value, n) => (n === 0 ? 0 : value - values[n - 1]!))
  const [u, y] = [steps(flight.channels['unfiltered.roll']), steps(flight.channels['gyro.roll']!)]
  const { breaks } = flightPart(flight, 0, 41)
  const direct = crossSpectra(u, y, { rate_hz: 1000, segment: 1024, breaks })
  expect(Number.isFinite(effect.coherence.reduce((sum, value) => sum + value, 0))).toBe(true)
  const around = (values: Float64Array) =>
    values.map((value, k) => value + (k > 1 ? values[k - 1]! : 0) + (values[k + 1] ?? 0))
  const smooth = {
    ...direct,
    uu: around(direct.uu),
    yy: around(direct.yy),
    uyRe: around(direct.uyRe),
    uyIm: around(direct.uyIm),
  }
  const g2 = coherence(smooth)
  effect.coherence.forEach((value, k) => k > 1 && expect(value).toBeCloseTo(g2[k]!, 4))
})
