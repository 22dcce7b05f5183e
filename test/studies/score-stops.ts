import type { Manoeuvre } from '../../workers/manoeuvre/manoeuvre.ts'
import type { FlightRecord } from '../../workers/model/flight.ts'

export interface StopScore {
  /** Scripted stops, stops found, and those found with kind, axis, direction and time right. */
  readonly wanted: number
  readonly found: number
  readonly hits: number
}

/** How well the detection found a simulated flight's scripted stops (turns and snaps). */
export function scoreStops(record: FlightRecord, found: readonly Manoeuvre[]): StopScore {
  const wanted = record.manoeuvres.filter(({ kind }) => ['roll', 'flip', 'spin', 'snap'].includes(kind))
  const stops = found.filter(({ kind }) => ['turn', 'snap', 'swing'].includes(kind))
  const used = new Set<string>()
  for (const flown of wanted) {
    const kind = flown.kind === 'snap' ? 'snap' : 'turn'
    // The truth names a snap by its first stroke, the detection by the one that is stopped.
    const direction = flown.kind === 'snap' ? -flown.direction : flown.direction
    const match = stops.find(
      (one) =>
        !used.has(one.id) &&
        one.kind === kind &&
        one.axis === flown.axis &&
        one.direction === direction &&
        one.stop_s! > (flown.release_s ?? flown.start_s) &&
        one.stop_s! < flown.end_s,
    )
    if (match) used.add(match.id)
  }
  return { hits: used.size, wanted: wanted.length, found: stops.length }
}
