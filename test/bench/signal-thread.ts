import { parentPort } from 'node:worker_threads'
import { demandOf } from '../../workers/comparison/demand.ts'
import { flightEvents } from '../../workers/comparison/flight-events.ts'
import { measureFlight } from '../../workers/comparison/flight-measures.ts'
import { axisFrequency } from '../../workers/comparison/frequency.ts'
import { rehearse, REHEARSAL_PARTS } from '../../workers/comparison/rehearsal.ts'
import { rotorOverlay } from '../../workers/comparison/rotors.ts'
import type { ShownSignal } from '../../workers/comparison/shown-signals.ts'
import { signalFrequency } from '../../workers/comparison/signal-frequency.ts'
import { signalLane } from '../../workers/comparison/spectra.ts'
import { AXES, perAxis } from '../../workers/flight/axes.ts'
import type { FlightSignals } from '../../workers/flight/signals.ts'
import { commonSegments } from '../../workers/signal/noise-map.ts'
import { rotorFactsInSheet, sheetDelays } from '../../workers/signal/sheet-delays.ts'
import type { SheetEntry } from '../../workers/signal/sheet-filters.ts'
import { spectrogram } from '../../workers/signal/spectrogram.ts'

/** Half of the frames of three axes' spectrograms. */
export interface SpectrogramWork {
  readonly kind: 'spectrogram'
  readonly shared: Float32Array
  /** Three axes of frames x 257 levels. */
  readonly levels: Float32Array
  readonly from: number
  readonly to: number
  readonly frames: number
  readonly rate_hz: number
}

/** Everything for one flight, by the functions that the window and the report call. */
export interface FlightWork {
  readonly kind: 'flight'
  readonly signals: FlightSignals
  readonly settings: readonly SheetEntry[]
}

/** Spectra, noise map and spectrogram of one more signal of all axes, as the frequency screen shows it when it is chosen. */
export interface SignalWork {
  readonly kind: 'signal'
  readonly signals: FlightSignals
  readonly signal: ShownSignal
}

/** What a thread says at its end: the time it had a processor for itself. */
export interface Done {
  readonly kind: 'done'
  readonly processor_ms: number
}

/** What a comparison worker does when the first flight of a pair is chosen. */
export interface RehearsalWork {
  readonly kind: 'rehearsal'
}

export type Work = SpectrogramWork | FlightWork | SignalWork | RehearsalWork

parentPort!.on('message', (work: Work) => {
  const before = process.threadCpuUsage()
  if (work.kind === 'spectrogram') computeLevels(work)
  else if (work.kind === 'signal') computeSignal(work)
  else if (work.kind === 'rehearsal') for (let part = 0; part < REHEARSAL_PARTS; part++) rehearse(part)
  else computeFlight(work)
  const { user, system } = process.threadCpuUsage(before)
  const done: Done = { kind: 'done', processor_ms: (user + system) / 1000 }
  parentPort!.postMessage(done)
})

function computeLevels({ shared, levels, from, to, frames, rate_hz }: SpectrogramWork): void {
  for (let axis = 0; axis < 3; axis++) {
    const start = (axis * frames + from) * 257
    spectrogram(shared.subarray(from * 64, (to - 1) * 64 + 512), {
      rate_hz,
      window: 512,
      hop: 64,
      into: levels.subarray(start, start + (to - from) * 257),
    })
  }
}

/** Columns of a spectrogram in a wide window. */
const COLUMNS = 900

function computeFlight({ signals, settings }: FlightWork): void {
  const { rate_hz, t_s } = signals
  const end_s = t_s.at(-1)!
  measureFlight(signals, 0, end_s)
  parentPort!.postMessage({ kind: 'first' })
  const responses = perAxis((axis) => {
    // Spectra of gyro and error, noise map, what the filters do, step, closed loop, error budget, lag, windows over time.
    const found = axisFrequency(signals, axis, 0, end_s, commonSegments(rate_hz, rate_hz).a)
    demandOf(signals, 0, end_s, axis)
    signalLane(signals, 'gyro', axis, 0, end_s, COLUMNS)
    return found.response
  })
  flightEvents(signals, 0, end_s, responses)
  rotorOverlay(signals, 0, end_s, rotorFactsInSheet(settings))
  sheetDelays(settings, rate_hz)
}

function computeSignal({ signals, signal }: SignalWork): void {
  const end_s = signals.t_s.at(-1)!
  const segment = commonSegments(signals.rate_hz, signals.rate_hz).a
  for (const axis of AXES) {
    signalFrequency(signals, axis, signal, 0, end_s, segment)
    signalLane(signals, signal, axis, 0, end_s, COLUMNS)
  }
}
