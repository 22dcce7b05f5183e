import { describe, expect, test } from 'vitest'
import { divergingMap, toOklab } from '../../../workers/colour/diverging-map.ts'
import { differenceAt, laneDifference } from '../../../workers/comparison/lane-difference.ts'
import { rotorFrequency_hz, rotorLineByThrottle } from '../../../workers/comparison/rotor-line.ts'
import { rotorOverlay } from '../../../workers/comparison/rotors.ts'
import { spectrogramLane } from '../../../workers/comparison/spectra.ts'
import type { FlightSignals } from '../../../workers/flight/signals.ts'

const RATE_HZ = 1000

/** White noise from a fixed seed, with a sine where `tone` says. */
function flight(
  seconds: number,
  gain: number,
  tone_hz: (t_s: number) => number = () => 0,
  seed = 1,
): FlightSignals {
  const count = seconds * RATE_HZ
  let state = seed
  let phase = 0
  const noise = () => {
    state = (Math.imul(state, 1664525) + 1013904223) >>> 0
    return state / 2 ** 32 - 0.5
  }
  const t_s = Float64Array.from({ length: count }, (_, n) => n / RATE_HZ)
  const gyro = Float32Array.from(t_s, (t) => {
    phase += (2 * Math.PI * tone_hz(t)) / RATE_HZ
    return gain * (noise() * 10 + (tone_hz(t) > 0 ? 8 * Math.sin(phase) : 0))
  })
  return {
    t_s,
    rate_hz: RATE_HZ,
    channels: {
      'gyro.roll': gyro,
      throttle: t_s.map((t) => 0.2 + 0.06 * Math.floor(t / 3)) as unknown as Float32Array,
    },
  }
}
const lane = (signals: FlightSignals, t0_s = 0, t1_s = 20) =>
  spectrogramLane(signals, 'roll', t0_s, t1_s, 200)!

describe('the difference of two spectrograms', () => {
  test('a flight ten times as loud is 20 dB above, everywhere', () => {
    const found = laneDifference(lane(flight(20, 1)), lane(flight(20, 10)), 0, 0, 20, 60, 20)
    const cells = [...found.difference_db].filter((cell) => !Number.isNaN(cell))
    expect(cells.length).toBeGreaterThan(1000)
    // Two grids, each right to 0.05 dB (see resampleLevels).
    for (const cell of cells) expect(Math.abs(cell - 20)).toBeLessThan(0.1)
  })

  test('swapped flights give the negative; a flight against itself gives nothing', () => {
    const [a, b] = [lane(flight(20, 1)), lane(flight(20, 2, () => 120, 7))]
    const there = laneDifference(a, b, 0, 0, 20, 50, 16).difference_db
    const back = laneDifference(b, a, 0, 0, 20, 50, 16).difference_db
    there.forEach((cell, index) => expect(cell + back[index]! || 0).toBeCloseTo(0, 5))
    expect(
      laneDifference(a, a, 0, 0, 20, 50, 16).difference_db.every((cell) => cell === 0 || Number.isNaN(cell)),
    ).toBe(true)
  })

  test('B is taken where the alignment lays it; where either has nothing there is nothing', () => {
    // B's tone lies at 10 to 12 s of its own clock: at 13 to 15 s of the common one when it is moved by 3 s.
    const b = lane(flight(20, 1, (t) => (t > 10 && t < 12 ? 200 : 0)))
    const found = laneDifference(lane(flight(20, 1)), b, 3, 0, 23, 230, 50)
    expect(differenceAt(found, 14, 201)).toBeGreaterThan(10)
    expect(differenceAt(found, 11, 201)).toBeLessThan(8)
    expect(differenceAt(found, 1, 201)).toBeNull()
    expect(differenceAt(found, 21.9, 201)).toBeNull()
    expect(differenceAt(found, -1, 201)).toBeNull()
  })
})

describe('the map of differences', () => {
  const map = divergingMap([0x00, 0x72, 0xb2], [0xf4, 0xf1, 0xea], [0xd5, 0x5e, 0x00])
  const lightness = (index: number) => toOklab([map[3 * index]!, map[3 * index + 1]!, map[3 * index + 2]!])[0]

  test('gets darker outwards by even steps, alike on both sides', () => {
    for (let index = 0; index < 127; index++) {
      expect(Math.abs(lightness(index) - lightness(255 - index))).toBeLessThan(0.012)
      expect(lightness(index)).toBeLessThan(lightness(index + 1) + 0.004)
    }
    const steps = [10, 40, 70, 100].map((index) => lightness(index + 20) - lightness(index))
    for (const step of steps) expect(step).toBeCloseTo(steps[0]!, 1.5)
  })

  test('is neutral in the middle and has its hues at the ends', () => {
    expect([...map.subarray(3 * 128, 3 * 128 + 3)].every((byte) => byte > 0xe5)).toBe(true)
    expect(map[2]!).toBeGreaterThan(map[0]!)
    expect(map[3 * 255]!).toBeGreaterThan(map[3 * 255 + 2]!)
  })

  test('Oklab as its author gives it: white is 1, 0, 0', () => {
    // B. Ottosson's page gives D65 white as L = 1, a = b = 0; from memory.
    const [l, a, b] = toOklab([255, 255, 255])
    expect(l).toBeCloseTo(1, 3)
    expect(Math.hypot(a, b)).toBeLessThan(1e-3)
  })
})

describe('the motors’ line by throttle', () => {
  const speed_hz = (t: number) => 120 + 12 * Math.floor(t / 3)

  test('is found where a tone climbs with the throttle', () => {
    const found = rotorLineByThrottle(flight(30, 1, speed_hz), 0, 30)
    if (typeof found === 'string') throw new Error(found)
    for (const t of [1, 10, 19, 28]) {
      expect(Math.abs(rotorFrequency_hz(found, 0.2 + 0.06 * Math.floor(t / 3)) - speed_hz(t))).toBeLessThan(
        10,
      )
    }
    expect(rotorFrequency_hz(found, 0.99)).toBeNaN()
  })

  test('is taken from the axis that hears it best', () => {
    const { channels, ...rest } = flight(30, 1, speed_hz)
    const quiet = {
      ...rest,
      channels: {
        ...channels,
        'gyro.pitch': channels['gyro.roll']!,
        'gyro.roll': flight(30, 1).channels['gyro.roll']!,
      },
    }
    const found = rotorLineByThrottle(quiet, 0, 30)
    if (typeof found === 'string') throw new Error(found)
    expect(Math.abs(rotorFrequency_hz(found, 0.2) - speed_hz(1))).toBeLessThan(10)
    // The frequency screen and the lines over the spectrograms are the same finding.
    const overlay = rotorOverlay(quiet, 0, 30, { blades: null, polePairs: null })
    if (overlay.kind === 'refused') throw new Error(overlay.reason)
    expect(overlay.byThrottle).toEqual(found)
  })

  test('is not made up from noise, nor without a throttle', () => {
    expect(rotorLineByThrottle(flight(30, 1), 0, 30)).toContain('no line in the noise rises')
    const { channels, ...rest } = flight(30, 1, speed_hz)
    expect(
      rotorLineByThrottle({ ...rest, channels: { 'gyro.roll': channels['gyro.roll']! } }, 0, 30),
    ).toContain('no throttle')
    expect(rotorLineByThrottle({ ...rest, channels: { throttle: channels.throttle! } }, 0, 30)).toContain(
      'no gyro',
    )
  })
})
