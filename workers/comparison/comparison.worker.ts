/// <reference lib="webworker" />
import { expose, transfer } from 'comlink'
import { alignFlights } from '../align/align.ts'
import { figuresOfFlight } from '../changes/flight-figures.ts'
import type { Axis } from '../flight/axes.ts'
import type { FlightSignals } from '../flight/signals.ts'
import type { ManoeuvreEdit } from '../manoeuvre/manoeuvre.ts'
import { compareFlights } from '../verdict/compare-flights.ts'
import type { CompareOptions } from '../verdict/comparison.ts'
import type { RepeatFlight } from '../verdict/repeat.ts'
import { watchFlight } from '../verdict/watch-flight.ts'
import { transferables } from '../picture/model.ts'
import { excerptCsv, type ExcerptRequest } from '../share/excerpt.ts'
import { alignable } from './alignable.ts'
import { buildPicture, type PictureRequest } from './build-picture.ts'
import { measureSpan } from './flight-measures.ts'
import { axisFrequency } from './frequency.ts'
import { rehearse, REHEARSAL_PARTS } from './rehearsal.ts'
import { demandOf } from './demand.ts'
import { flightEvents } from './flight-events.ts'
import { laneDifference } from './lane-difference.ts'
import { laneTiles, type LaneLayout } from './lane-tiles.ts'
import { rotorOverlay, type RotorFacts } from './rotors.ts'
import type { ShownSignal } from './shown-signals.ts'
import { signalFrequency } from './signal-frequency.ts'
import type { Lane } from './spectra.ts'

/** What the window asks its comparison workers. Bulk goes by transfer, or shared where the window may share. */
const api = {
  /** Does a part of the rehearsal; false when it was the last. */
  rehearse(part: number) {
    rehearse(part)
    return part + 1 < REHEARSAL_PARTS
  },
  align(a: FlightSignals, b: FlightSignals) {
    return alignFlights({ a: alignable(a), b: alignable(b) })
  },
  measure(a: FlightSignals, b: FlightSignals, offset_s: number, t0_s: number, t1_s: number) {
    return measureSpan(a, b, offset_s, t0_s, t1_s)
  },
  frequency(signals: FlightSignals, axis: Axis, t0_s: number, t1_s: number, mapSegment: number) {
    return axisFrequency(signals, axis, t0_s, t1_s, mapSegment)
  },
  signal(
    signals: FlightSignals,
    axis: Axis,
    signal: ShownSignal,
    t0_s: number,
    t1_s: number,
    mapSegment: number,
  ) {
    return signalFrequency(signals, axis, signal, t0_s, t1_s, mapSegment)
  },
  demand(signals: FlightSignals, t0_s: number, t1_s: number, axis: Axis) {
    return demandOf(signals, t0_s, t1_s, axis)
  },
  events(signals: FlightSignals, t0_s: number, t1_s: number) {
    return flightEvents(signals, t0_s, t1_s)
  },
  rotors(signals: FlightSignals, t0_s: number, t1_s: number, facts: RotorFacts) {
    return rotorOverlay(signals, t0_s, t1_s, facts)
  },
  laneTiles(
    signals: FlightSignals,
    signal: ShownSignal,
    axis: Axis,
    layout: LaneLayout,
    tiles: readonly number[],
    onProgress: (done: number) => void,
  ) {
    const made = laneTiles(signals, signal, axis, layout, tiles, onProgress)
    return (
      made &&
      transfer(made, made.flatMap(({ t_s, level_db }) => [t_s.buffer, level_db.buffer]) as ArrayBuffer[])
    )
  },
  picture(request: PictureRequest) {
    const model = buildPicture(request)
    // Curves go by transfer; levels are the caller's.
    const curves = { ...model }
    delete curves.spectrograms
    return transfer(model, transferables(curves))
  },
  verdict(
    a: FlightSignals,
    b: FlightSignals,
    options: Pick<CompareOptions, 'edits' | 'deltas' | 'headline' | 'adjust'>,
    repeat: RepeatFlight | null,
    onProgress: (done: number, doing: string) => void,
  ) {
    return compareFlights(a, b, { ...options, onProgress }, repeat ?? undefined)
  },
  figures(signals: FlightSignals, slowest_hz: number, edits: readonly ManoeuvreEdit[]) {
    return figuresOfFlight(signals, slowest_hz, edits)
  },
  excerpt(request: ExcerptRequest) {
    return [...excerptCsv(request)].join('')
  },
  watch(signals: FlightSignals) {
    return watchFlight(signals)
  },
  laneDifference(
    a: Lane,
    b: Lane,
    offset_s: number,
    t0_s: number,
    t1_s: number,
    columns: number,
    rows: number,
  ) {
    const lane = laneDifference(a, b, offset_s, t0_s, t1_s, columns, rows)
    return transfer(lane, [lane.difference_db.buffer])
  },
}
export type ComparisonApi = typeof api

expose(api)
