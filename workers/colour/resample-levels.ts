/** A grid of levels, frame after frame, with the middle of each frame and the frequency of each bin. */
export interface LevelGrid {
  readonly frames: number
  readonly bins: number
  /** Rising; length `frames`. */
  readonly t_s: Float64Array
  /** Evenly spaced, rising; length `bins`. */
  readonly f_hz: Float64Array
  readonly level_db: Float32Array
}

/** Where the wanted grid lies: its outer edges. */
export interface LevelWindow {
  readonly t0_s: number
  readonly t1_s: number
  readonly f0_hz: number
  readonly f1_hz: number
}

/** Powers are averaged through a table of this many steps a decibel: an error of at most 0.05 dB. */
const STEPS_PER_DB = 10
const TABLE_FLOOR_DB = -200
const TABLE_TOP_DB = 150
let powers: Float64Array | null = null

function powerTable(): Float64Array {
  if (powers === null) {
    const length = (TABLE_TOP_DB - TABLE_FLOOR_DB) * STEPS_PER_DB + 1
    powers = Float64Array.from({ length }, (_, index) => 10 ** ((TABLE_FLOOR_DB + index / STEPS_PER_DB) / 10))
  }
  return powers
}

/**
 * Brings a spectrogram to `width` x `height` cells of the window, so that a picture shows each of them once.
 * Where several frames or bins fall into a cell their mean power counts (never the mean of decibels, which
 * hides short loud parts); where fewer, the nearest frame and bin within their own width. Cells that nothing covers (before the flight,
 * in a gap, above half the sample rate) are NaN. A NaN level makes its own cell's share missing; a cell with
 * nothing else is NaN.
 * Returns levels in dB, column after column like the input: result[column * height + row], row 0 lowest.
 * Errors: RangeError when sizes disagree or the window is empty.
 */
export function resampleLevels(
  grid: LevelGrid,
  window: LevelWindow,
  width: number,
  height: number,
): Float32Array<ArrayBuffer> {
  const { frames, bins, t_s, f_hz, level_db } = grid
  if (level_db.length !== frames * bins || t_s.length !== frames || f_hz.length !== bins) {
    throw new RangeError(`levels are not frames x bins: ${level_db.length}, ${frames} x ${bins}`)
  }
  if (!(window.t0_s < window.t1_s) || !(window.f0_hz < window.f1_hz)) {
    throw new RangeError(
      `empty window: ${window.t0_s}..${window.t1_s} s, ${window.f0_hz}..${window.f1_hz} Hz`,
    )
  }
  const columns = shares(t_s, window.t0_s, window.t1_s, width, typicalStep(t_s))
  const rows = shares(f_hz, window.f0_hz, window.f1_hz, height, typicalStep(f_hz))
  const table = powerTable()
  const result = new Float32Array(width * height).fill(Number.NaN)
  for (let column = 0; column < width; column++) {
    const firstFrame = columns.first[column] as number
    const lastFrame = columns.last[column] as number
    for (let row = 0; row < height; row++) {
      const firstBin = rows.first[row] as number
      const lastBin = rows.last[row] as number
      if (firstFrame === lastFrame && firstBin === lastBin) {
        if (firstFrame >= 0 && firstBin >= 0) {
          result[column * height + row] = level_db[firstFrame * bins + firstBin] as number
        }
        continue
      }
      if (firstFrame < 0 || firstBin < 0) continue
      let sum = 0
      let count = 0
      for (let frame = firstFrame; frame <= lastFrame; frame++) {
        for (let bin = firstBin; bin <= lastBin; bin++) {
          const level = level_db[frame * bins + bin] as number
          if (level !== level) continue
          const clamped = Math.min(TABLE_TOP_DB, Math.max(TABLE_FLOOR_DB, level))
          sum += table[Math.round((clamped - TABLE_FLOOR_DB) * STEPS_PER_DB)] as number
          count++
        }
      }
      if (count > 0) result[column * height + row] = 10 * Math.log10(sum / count)
    }
  }
  return result
}

/** For each of `cells` between low and high the first and last sample that it shows; -1 for none. */
function shares(
  samples: Float64Array,
  low: number,
  high: number,
  cells: number,
  step: number,
): { first: Int32Array; last: Int32Array } {
  const first = new Int32Array(cells).fill(-1)
  const last = new Int32Array(cells).fill(-1)
  const size = (high - low) / cells
  let next = 0
  for (let cell = 0; cell < cells; cell++) {
    const from = low + cell * size
    const to = from + size
    while (next < samples.length && (samples[next] as number) < from) next++
    let end = next
    while (end < samples.length && (samples[end] as number) < to) end++
    if (end > next) {
      first[cell] = next
      last[cell] = end - 1
      continue
    }
    const middle = (from + to) / 2
    const before = next > 0 ? middle - (samples[next - 1] as number) : Number.POSITIVE_INFINITY
    const after = next < samples.length ? (samples[next] as number) - middle : Number.POSITIVE_INFINITY
    // A sample stands for its own width, half a step to either side; what no sample stands for stays empty.
    if (Math.min(before, after) > (step / 2) * 1.01) continue
    const nearest = before <= after ? next - 1 : next
    first[cell] = nearest
    last[cell] = nearest
  }
  return { first, last }
}

/** The median distance of neighbours; 0 for fewer than two. */
function typicalStep(samples: Float64Array): number {
  if (samples.length < 2) return 0
  const steps = Float64Array.from(
    { length: samples.length - 1 },
    (_, index) => (samples[index + 1] as number) - (samples[index] as number),
  ).sort()
  return steps[steps.length >> 1] as number
}
