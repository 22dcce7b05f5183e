import type { ColourMap } from './colour-maps.ts'

/** The levels that take a map's first and last colour. */
export interface LevelRange {
  readonly min_db: number
  readonly max_db: number
}

export type Rgb = readonly [number, number, number]

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
  for (let bin = 0; bin < bins; bin++) {
    const row = (bins - 1 - bin) * frames
    for (let frame = 0; frame < frames; frame++) {
      const level = level_db[frame * bins + bin] as number
      let index = Math.floor((level - range.min_db) * scale)
      if (index < 0) index = 0
      else if (index > 255) index = 255
      words[row + frame] = level === level ? (colours[index] as number) : emptyWord
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
