/** Times of moments: from the common clock of a pair into each flight's log and back. */
import * as fc from 'fast-check'
import { expect, test } from 'vitest'
import type { FoundPlace, ListedMoment } from '../../../electron/desk/contract/moments.ts'
import { offsetOf, placedIn, placesAt, type FlightOnClock } from '../../../renderer/moments/placed.ts'
import type { Place } from '../../../workers/moments/moment.ts'

const A: FlightOnClock = { side: 'a', contentHash: 'aa', start_s: 100, duration_s: 60, shift_s: 0 }
const B: FlightOnClock = { side: 'b', contentHash: 'bb', start_s: 0, duration_s: 30, shift_s: 12.5 }

function listed(places: readonly Place[]): ListedMoment {
  const found = places.map((place): FoundPlace => {
    const about = { flightName: '', craft: '', flownAt_ms: null, flightStart_s: 0, inFlight: true }
    return { ...place, flightId: 1, ...about }
  })
  const words = { tags: [], note: '', stars: 0, flyAgain: false, whatToFly: '' }
  return { id: 'm', places: found, ...words, createdAt_ms: 0, changedAt_ms: 0 }
}

test('a time is marked in each flight at its own log’s time', () => {
  expect(placesAt([A, B], ['a', 'b'], { t0_s: 20, t1_s: null })).toEqual([
    { side: 'a', contentHash: 'aa', t0_s: 120, t1_s: null, marked: true },
    { side: 'b', contentHash: 'bb', t0_s: 7.5, t1_s: null, marked: true },
  ])
})

test('a flight that is not wanted, or has nothing there, only lies beside', () => {
  const marked = (sides: ('a' | 'b')[], t0_s: number) =>
    placesAt([A, B], sides, { t0_s, t1_s: null }).map((place) => place.marked)
  expect(marked(['a'], 20)).toEqual([true, false])
  expect(marked(['a', 'b'], 5)).toEqual([true, false])
  expect(marked(['a', 'b'], 50)).toEqual([true, false])
  expect(marked(['b'], 50)).toEqual([])
  expect(marked(['a', 'b'], 61)).toEqual([])
})

test('a span keeps within each flight', () => {
  const [a, b] = placesAt([A, B], ['a', 'b'], { t0_s: -5, t1_s: 20 })
  expect(a).toMatchObject({ t0_s: 100, t1_s: 120, marked: true })
  expect(b).toMatchObject({ t0_s: 0, t1_s: 7.5, marked: true })
})

test('what is marked on the common clock stands there again, also when it is cut or shifted otherwise', () => {
  fc.assert(
    fc.property(
      fc.double({ min: 0, max: 60, noNaN: true }),
      fc.option(fc.double({ min: 0.01, max: 20, noNaN: true })),
      fc.double({ min: -30, max: 30, noNaN: true }),
      fc.double({ min: -5, max: 5, noNaN: true }),
      (t0_s, length_s, shift_s, other_s) => {
        const b = { ...B, shift_s }
        const places = placesAt([A, b], ['a', 'b'], {
          t0_s,
          t1_s: length_s === null ? null : t0_s + length_s,
        })
        fc.pre(places.length > 0)
        const moment = listed(places)
        for (const flight of [A, b]) {
          const place = places.find(({ side }) => side === flight.side)!
          const [placed] = placedIn([moment], flight)
          expect(Boolean(placed)).toBe(place.marked)
          if (!placed) continue
          if (place.t1_s === null) expect(placed.t0_s).toBeCloseTo(t0_s, 4)
          // Cut so that it begins later, its clock beginning later with it: the same instant.
          const cut = { ...flight, start_s: flight.start_s + 0.01, shift_s: flight.shift_s + 0.01 }
          expect(placedIn([moment], cut)[0]?.t0_s).toBeCloseTo(placed.t0_s, 4)
          // B moved by hand takes its moments along.
          const moved = { ...flight, shift_s: flight.shift_s + other_s }
          expect(placedIn([moment], moved)[0]?.t0_s).toBeCloseTo(placed.t0_s + other_s, 4)
        }
        if (places.every((place) => place.t1_s === null)) {
          expect(offsetOf(moment, A, { ...b, shift_s: 0 })).toBeCloseTo(shift_s, 4)
        }
      },
    ),
  )
})

test('moments outside of the flight’s part of the log, or of another log, are not shown', () => {
  const at = (t0_s: number, contentHash = 'aa') =>
    listed([{ side: 'a', contentHash, t0_s, t1_s: null, marked: true }])
  expect(placedIn([at(99), at(161), at(120, 'bb')], A)).toEqual([])
  expect(placedIn([at(150), at(120)], A).map(({ t0_s }) => t0_s)).toEqual([20, 50])
  expect(offsetOf(at(120), A, B)).toBeNull()
})
