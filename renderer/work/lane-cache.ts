import type { FlightDetail } from '../../electron/desk/contract/schemas.ts'
import type { Lane } from '../../workers/comparison/spectra.ts'
import { Recent } from './recent.ts'

/** Raised whenever the same samples would give another picture. */
const VERSION = 1
/** A whole lane of a large window takes about half a megabyte. */
const recent = new Recent<Lane>(96 * 1024 * 1024)

/**
 * A flight's spectrogram of a channel over a span of its own clock, from memory when it was computed before: a view that
 * returns to a span finds it at once. The key holds content and reading, so a changed file or meaning meets no old lane.
 */
export async function laneOr(
  flight: Pick<FlightDetail, 'contentHash' | 'reading'>,
  channel: string,
  t0_s: number,
  t1_s: number,
  columns: number,
  compute: () => Promise<Lane | null>,
): Promise<Lane | null> {
  const key = JSON.stringify([VERSION, flight.contentHash, flight.reading, channel, t0_s, t1_s, columns])
  const known = recent.get(key)
  if (known) return known
  const lane = await compute()
  if (lane) recent.keep(key, lane, lane.level_db.byteLength + lane.t_s.byteLength + lane.f_hz.byteLength)
  return lane
}
