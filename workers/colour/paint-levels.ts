import type { ColourMap } from './colour-maps.ts'

/** The levels that take a map's first and last colour. */
export interface LevelRange {
  readonly min_db: number
  readonly max_db: number
}

export type Rgb = readonly [number, number, number]

/** A line of a processor's cache holds sixteen pixels. */
const FRAMES_AT_ONCE = 16

/**
 * Paints a spectrogram: time along x, frequency up, one pixel per frame and bin.
 * `level_db` holds `frames` x `bins` levels, frame after frame; the result is RGBA, `frames` wide and `bins`
 * high, from the top left as canvases have it. Levels outside the range take the end colours.
 * NaN (a frame across a gap) becomes `empty`, or transparent when none is given.
 * Errors: RangeError when sizes disagree or min_db < max_db does not hold.
 */
export function paintLevels(
  level_db: Float32Array,
  frames: number,
  bins: number,
  range: LevelRange,
  map: ColourMap,
  empty?: Rgb,
): Uint8ClampedArray<ArrayBuffer> {
  if (level_db.length !== frames * bins) {
    throw new RangeError(`levels are not frames x bins: ${level_db.length}, ${frames} x ${bins}`)
  }
  if (!(range.min_db < range.max_db)) {
    throw new RangeError(`no range of levels: ${range.min_db} to ${range.max_db} dB`)
  }
  const pixels = new Uint8ClampedArray(frames * bins * 4)
  // One 32-bit store per pixel; the table is built through bytes, so the machine's byte order does not matter.
  const words = new Uint32Array(pixels.buffer)
  const colours = packColours(map)
  const emptyWord = empty === undefined ? 0 : packOne(empty)
  const scale = 256 / (range.max_db - range.min_db)
  const { min_db } = range
  // Levels lie frame after frame, pixels row after row: some frames at a time, so that both are walked along.
  for (let from = 0; from < frames; from += FRAMES_AT_ONCE) {
    const to = Math.min(frames, from + FRAMES_AT_ONCE)
    for (let bin = 0; bin < bins; bin++) {
      const row = (bins - 1 - bin) * frames
      for (let frame = from; frame < to; frame++) {
        const level = level_db[frame * bins + bin]!
        const share = (level - min_db) * scale
        const index = share >= 255 ? 255 : share > 0 ? share | 0 : 0
        words[row + frame] = level === level ? colours[index]! : emptyWord
      }
    }
  }
  return pixels
}

/** '#rrggbb' as three bytes. Errors: RangeError for any other text. */
export function rgbOf(hex: string): Rgb {
  if (!/^#[0-9a-f]{6}$/i.test(hex)) throw new RangeError(`not a colour: ${hex}`)
  const channel = (at: number): number => Number.parseInt(hex.slice(at, at + 2), 16)
  return [channel(1), channel(3), channel(5)]
}

function packColours(map: ColourMap): Uint32Array {
  const bytes = new Uint8Array(1024)
  for (let index = 0; index < 256; index++) {
    bytes.set(map.subarray(index * 3, index * 3 + 3), index * 4)
    bytes[index * 4 + 3] = 255
  }
  return new Uint32Array(bytes.buffer)
}

function packOne(colour: Rgb): number {
  return new Uint32Array(new Uint8Array([...colour, 255]).buffer)[0] as number
}
