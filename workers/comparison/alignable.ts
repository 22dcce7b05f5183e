import type { AlignFlight } from '../align/align.ts'
import { channelEntries, type FlightSignals } from '../flight/signals.ts'

/** A flight as the alignment takes it: its clock and all its channels by name. */
export function alignable(signals: FlightSignals): AlignFlight {
  return {
    t_s: signals.t_s,
    channels: channelEntries(signals).map(([name, samples]) => ({ name, samples })),
  }
}
