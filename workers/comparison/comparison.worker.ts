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
import { frequencyOf } from './frequency.ts'
import { demandOf } from './demand.ts'
import { flightEvents } from './flight-events.ts'
import { laneDifference } from './lane-difference.ts'
import { sharedCopy } from './prepare-flight.ts'
import { rotorLineByThrottle } from './rotor-line.ts'
import { rotorOverlay, type RotorFacts } from './rotors.ts'
import type { ShownSignal } from './shown-signals.ts'
import { signalFrequencyOf } from './signal-frequency.ts'
import { signalLane, spectrogramLane, type Lane } from './spectra.ts'

/** What the window asks its comparison workers. Bulk goes by transfer, or shared where the window may share. */
const api = {
  align(a: FlightSignals, b: FlightSignals) {
    return alignFlights({ a: alignable(a), b: alignable(b) })
  },
  measure(a: FlightSignals, b: FlightSignals, offset_s: number, t0_s: number, t1_s: number) {
    return measureSpan(a, b, offset_s, t0_s, t1_s)
  },
  frequency(a: FlightSignals, b: FlightSignals, offset_s: number, t0_s: number, t1_s: number, axis: Axis) {
    return frequencyOf(a, b, offset_s, t0_s, t1_s, axis)
  },
  signal(
    a: FlightSignals,
    b: FlightSignals,
    offset_s: number,
    t0_s: number,
    t1_s: number,
    axis: Axis,
    signal: ShownSignal,
  ) {
    return signalFrequencyOf(a, b, offset_s, t0_s, t1_s, axis, signal)
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
  signalLane(
    signals: FlightSignals,
    signal: ShownSignal,
    axis: Axis,
    t0_s: number,
    t1_s: number,
    columns: number,
  ) {
    const lane = signalLane(signals, signal, axis, t0_s, t1_s, columns)
    return lane && handOver(lane)
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
  lane(
    signals: FlightSignals,
    axis: Axis,
    t0_s: number,
    t1_s: number,
    columns: number,
    onProgress: (done: number) => void,
  ) {
    const lane = spectrogramLane(signals, axis, t0_s, t1_s, columns, { onProgress })
    return lane && handOver(lane)
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
  rotorLine(signals: FlightSignals) {
    return rotorLineByThrottle(signals)
  },
}
export type ComparisonApi = typeof api

/** Levels go to other workers and back again: shared where the window may share, else handed over once. */
function handOver(lane: Lane): Lane {
  const level_db = globalThis.crossOriginIsolated ? sharedCopy(lane.level_db) : lane.level_db
  const own = [lane.t_s.buffer, lane.f_hz.buffer, level_db.buffer]
  return transfer(
    { ...lane, level_db },
    own.filter((buffer) => buffer instanceof ArrayBuffer),
  )
}

expose(api)
