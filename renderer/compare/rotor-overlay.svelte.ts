import { rotorFrequency_hz, type RotorLineByThrottle } from '../../workers/comparison/rotor-line.ts'
import { speedChannels, type ChannelName } from '../../workers/flight/signals.ts'
import { columnsOf, columnSpans } from '../../workers/reduce/columns.ts'
import { folded_hz } from '../../workers/signal/motor-lines.ts'
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

/** Where the motors' lines lie in the spectrograms: from logged speeds, or found in the noise by throttle. */
export class RotorOverlay {
  /** Per flight what was found; undefined until somebody looked. */
  #found = $state.raw<Readonly<Partial<Record<Side, RotorLineByThrottle | null>>>>({})
  /** Pole pairs, for speeds logged as electrical ones. 7 is common practice for motors of this size, no source. */
  polePairs = $state(7)

  async look(flights: Readonly<Record<Side, LoadedFlight>>, signal: AbortSignal): Promise<void> {
    for (const side of ['a', 'b'] as const) {
      const { signals } = flights[side]
      if (speedChannels(signals).length > 0 || this.#found[side] !== undefined) continue
      const line = await comparisonWorkers.run((worker) => worker.rotorLine(signals), signal)
      this.#found = { ...this.#found, [side]: line }
    }
  }

  sourceOf(side: Side, flight: LoadedFlight): OverlaySource {
    if (speedChannels(flight.signals).length > 0) return 'measured'
    const found = this.#found[side]
    return found === undefined ? 'looking' : found ? 'found' : 'none'
  }

  /** True where a flight's speeds count the motor's pole pairs. */
  isElectrical(flight: LoadedFlight): boolean {
    return flight.signals.electricalSpeeds === true
  }

  /** The lines over t0_s..t1_s of the flight's own clock, a value per column. */
  linesOf(side: Side, flight: LoadedFlight, t0_s: number, t1_s: number, columns: number): OverlayLine[] {
    const speeds = speedChannels(flight.signals)
    const poles = this.isElectrical(flight) ? this.polePairs : 1
    const rotors =
      speeds.length > 0
        ? speeds.map((channel) =>
            middles(flight, channel, t0_s, t1_s, columns).map((rpm) => rpm / 60 / poles),
          )
        : this.#byThrottle(side, flight, t0_s, t1_s, columns)
    const { rate_hz } = flight.signals
    return rotors.flatMap((turn_hz) =>
      [1, 2].map((times) => ({
        double: times === 2,
        f_hz: turn_hz.map((hz) => (hz > 0 ? folded_hz(times * hz, rate_hz) : NaN)),
      })),
    )
  }

  #byThrottle(side: Side, flight: LoadedFlight, t0_s: number, t1_s: number, columns: number): Float32Array[] {
    const line = this.#found[side]
    if (!line) return []
    return [
      middles(flight, 'throttle', t0_s, t1_s, columns).map((throttle) => rotorFrequency_hz(line, throttle)),
    ]
  }
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
