import { COLOUR_MAPS, type ColourMap } from '../../workers/colour/colour-maps.ts'
import { divergingMap } from '../../workers/colour/diverging-map.ts'
import { paintLevels, rgbOf, type LevelRange } from '../../workers/colour/paint-levels.ts'
import type { DifferenceLane } from '../../workers/comparison/lane-difference.ts'
import type { Lane } from '../../workers/comparison/spectra.ts'
import { theme } from '../theme/theme.svelte.ts'
import type { Lanes } from './lanes.svelte.ts'

/** A painted spectrogram with where it belongs: edges on its own clock and in frequency. */
export interface LanePicture {
  readonly image: OffscreenCanvas
  readonly t0_s: number
  readonly t1_s: number
  readonly f0_hz: number
  readonly f1_hz: number
}

/** A flight's spectrogram in colours; null when there is nothing to paint. */
export function levelPicture(
  lane: Lane | null,
  range: LevelRange | null,
  map: Lanes['map'],
): LanePicture | null {
  if (!lane || lane.frames === 0 || !range) return null
  const halfHop_s = lane.hop / lane.rate_hz / 2
  const bin_hz = lane.f_hz[1] ?? 1
  return {
    image: imageOf(lane.level_db, lane.frames, lane.bins, range, COLOUR_MAPS[map]),
    t0_s: (lane.t_s[0] ?? 0) - halfHop_s,
    t1_s: (lane.t_s.at(-1) ?? 0) + halfHop_s,
    // Bins are centred on their frequency: the lowest reaches half a bin below 0 Hz.
    f0_hz: -0.5 * bin_hz,
    f1_hz: (lane.bins - 0.5) * bin_hz,
  }
}

/** B minus A in colours: where A is louder its blue, where B is its vermilion. */
export function differencePicture(lane: DifferenceLane | null, range_db: number): LanePicture | null {
  if (!lane || !(range_db > 0)) return null
  const range = { min_db: -range_db, max_db: range_db }
  const { t0_s, t1_s, fMax_hz } = lane
  return {
    image: imageOf(lane.difference_db, lane.columns, lane.rows, range, differenceMap()),
    t0_s,
    t1_s,
    f0_hz: 0,
    f1_hz: fMax_hz,
  }
}

let maps: Readonly<Record<string, ColourMap>> = {}

/** The map of differences in the theme in force. */
export function differenceMap(): ColourMap {
  const known = maps[theme.current]
  if (known) return known
  const made = divergingMap(
    rgbOf(theme.token('difference-a')),
    rgbOf(theme.token('difference-none')),
    rgbOf(theme.token('difference-b')),
  )
  maps = { ...maps, [theme.current]: made }
  return made
}

function imageOf(
  level_db: Float32Array,
  columns: number,
  rows: number,
  range: LevelRange,
  map: ColourMap,
): OffscreenCanvas {
  const pixels = paintLevels(level_db, columns, rows, range, map)
  const image = new OffscreenCanvas(columns, rows)
  // Kept in plain memory, as the canvases that it is drawn on are.
  image
    .getContext('2d', { willReadFrequently: true })
    ?.putImageData(new ImageData(pixels, columns, rows), 0, 0)
  return image
}

/** A map as a CSS gradient, for the bar beside its numbers. */
export function gradientOf(map: ColourMap): string {
  const stops = Array.from({ length: 17 }, (_, step) => {
    const at = 3 * Math.round((step / 16) * 255)
    return `rgb(${map[at]} ${map[at + 1]} ${map[at + 2]})`
  })
  return `linear-gradient(90deg, ${stops.join(', ')})`
}
