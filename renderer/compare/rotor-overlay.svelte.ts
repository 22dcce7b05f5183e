import { rotorFrequency_hz } from '../../workers/comparison/rotor-line.ts'
import type { RotorOverlay as Found } from '../../workers/comparison/rotors.ts'
import { speedChannels, type ChannelName } from '../../workers/flight/signals.ts'
import { columnsOf, columnSpans } from '../../workers/reduce/columns.ts'
import { folded_hz } from '../../workers/signal/motor-lines.ts'
import type { Refused } from '../../workers/signal/result.ts'
import { loadFacts, mergedFacts } from '../frequency/rotor-facts.ts'
import { comparisonWorkers } from '../work/workers.ts'
import type { Side } from './comparison.svelte.ts'
import type { LoadedFlight } from './load-flight.ts'

/** A rotor's frequency per column of a lane, as the log shows it; NaN where it is not known. */
export interface OverlayLine {
  readonly f_hz: Float32Array
  /** Twice the rotor's speed: drawn fainter. */
  readonly double: boolean
}
/** Where the motors' lines come from. */
export type OverlaySource = 'measured' | 'found' | 'none' | 'looking'

/** What was found of a flight's rotors, and of which facts. */
interface Looked {
  readonly facts: string
  readonly found: Found | Refused
}

/** Where the motors' lines lie in the spectrograms: what the frequency screen finds over the whole flight. */
export class RotorOverlay {
  #looked = $state.raw<Readonly<Partial<Record<Side, Looked>>>>({})

  /** Looks for the lines of both flights, again when something else is said of their motors. */
  async look(flights: Readonly<Record<Side, LoadedFlight>>, signal: AbortSignal): Promise<void> {
    for (const side of ['a', 'b'] as const) {
      const { signals, detail } = flights[side]
      const facts = mergedFacts(detail, await loadFacts(detail))
      const known = JSON.stringify(facts)
      if (this.#looked[side]?.facts === known) continue
      const found = await comparisonWorkers.run<Found | Refused>(
        async (worker) => worker.rotors(signals, signals.t_s[0] ?? 0, signals.t_s.at(-1) ?? 0, facts),
        signal,
      )
      this.#looked = { ...this.#looked, [side]: { facts: known, found } }
    }
  }

  sourceOf(side: Side): OverlaySource {
    const found = this.#looked[side]?.found
    if (!found) return 'looking'
    return found.kind === 'refused' ? 'none' : found.from === 'logged' ? 'measured' : 'found'
  }

  /** How the lines were found and what to mind, or why there are none; empty until somebody looked. */
  saysOf(side: Side): string {
    const found = this.#looked[side]?.found
    if (!found) return ''
    return found.kind === 'refused' ? found.reason : [found.sentence, ...found.cautions].join(' ')
  }

  /** The lines over t0_s..t1_s of the flight's own clock, a value per column. */
  linesOf(side: Side, flight: LoadedFlight, t0_s: number, t1_s: number, columns: number): OverlayLine[] {
    const found = this.#looked[side]?.found
    if (found?.kind !== 'given') return []
    const { rate_hz } = flight.signals
    return turnsOf(found, flight, t0_s, t1_s, columns).flatMap((turn_hz) =>
      [1, 2].map((times) => ({
        double: times === 2,
        f_hz: turn_hz.map((hz) => (hz > 0 ? folded_hz(times * hz, rate_hz) : NaN)),
      })),
    )
  }
}

/** Turns a second per column: of each motor where speeds are logged, else of the line by throttle. */
function turnsOf(
  { byThrottle, polePairs }: Found,
  flight: LoadedFlight,
  t0_s: number,
  t1_s: number,
  columns: number,
): Float32Array[] {
  if (byThrottle)
    return [
      middles(flight, 'throttle', t0_s, t1_s, columns).map((throttle) =>
        rotorFrequency_hz(byThrottle, throttle),
      ),
    ]
  return speedChannels(flight.signals).map((channel) =>
    middles(flight, channel, t0_s, t1_s, columns).map((rpm) => rpm / 60 / (polePairs ?? 1)),
  )
}

/** The middle of what a channel covers per column. */
function middles(
  flight: LoadedFlight,
  channel: ChannelName,
  t0_s: number,
  t1_s: number,
  columns: number,
): Float32Array {
  const { t_s, channels } = flight.signals
  const samples = channels[channel]
  const pyramid = flight.pyramids[channel]
  if (!samples || !pyramid) return new Float32Array(columns).fill(NaN)
  const { low, high } = columnSpans(t_s, samples, pyramid, columnsOf(t_s, t0_s, t1_s, columns), Infinity)
  return low.map((value, column) => (value + high[column]!) / 2)
}
