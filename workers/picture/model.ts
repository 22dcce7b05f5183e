import type { ColourMapName } from '../colour/colour-maps.ts'
import type { Axis } from '../flight/axes.ts'

/**
 * What the comparison picture shows, as plain data: it can be posted to a worker (typed arrays by transfer),
 * kept as JSON after its arrays are written out, and drawn by `composeComparison` on any canvas.
 *
 * One clock holds for the whole picture: every `t_s` is in seconds on the common clock of the comparison,
 * with B already shifted by the alignment. Scales are set by whoever builds the model, once for A and B
 * (see ranges.ts), so that the picture can't flatter either flight.
 */
export interface ComparisonPicture {
  readonly title: string
  readonly theme: PictureTheme
  /** Device pixels per CSS pixel: 2 gives 2400 x 1600 for the width of 1200. Above 0, at most 4. */
  readonly scale: number
  /** Width in CSS pixels, 900 to 2400; usual are 1200 and 1600. The height follows: see `pictureSize`. */
  readonly width_px: number
  readonly a: PictureFlight
  readonly b: PictureFlight
  readonly span: PictureSpan
  /**
   * 'overlaid': B's curves over A's in one pane a row, spectrograms to the right. 'beside': a column for each
   * flight, its spectrograms below its curves. Left out: whichever keeps the curves apart, see arrangement.ts.
   */
  readonly arrangement?: Arrangement
  /** How B was laid over A and how sure that is, in one sentence; empty when there is nothing to say. */
  readonly alignment: string
  /** From top to bottom; usually roll, pitch, yaw. An axis that is left out here is left out of the table too. */
  readonly rows: readonly AxisRow[]
  readonly throttle?: ExtraRow
  readonly motors?: ExtraRow
  readonly spectrograms?: PictureSpectrograms
  /** One group of columns each; none draws no table. */
  readonly measures: readonly PictureMeasure[]
  /** What the comparison comes to, one line each, drawn large under the title. */
  readonly headlines?: readonly string[]
  /** Settings that differ between A and B. */
  readonly settings?: readonly PictureSetting[]
  /** The pilot's own words. */
  readonly note?: string
  readonly notices: readonly PictureNotice[]
  readonly footer: PictureFooter
}

export type PictureTheme = 'light' | 'dark'

export type Arrangement = 'overlaid' | 'beside'

/** A is the flight before the change, B the one after it. */
export type FlightKey = 'a' | 'b'

export interface PictureFlight {
  /** As drawn on the flight's badge: 'A (before)', 'B (after)'. */
  readonly label: string
  readonly name: string
  readonly craft?: string
  /** As it is to be read: '14 May, 16:02'. */
  readonly date?: string
  readonly rate_hz: number
  readonly duration_s: number
}

/** The part of the common clock that is shown, t0_s < t1_s. */
export interface PictureSpan {
  readonly t0_s: number
  readonly t1_s: number
  /** What the clock counts from, e.g. 'time since the start of A'; plain 'time' when left out. */
  readonly clock?: string
  /** How many samples of each flight the measures of the span rest on. */
  readonly samples?: Readonly<Record<FlightKey, number>>
}

export type PictureSignal = 'setpoint' | 'gyro' | 'throttle' | 'motor'

/** One curve. `t_s` rises; both arrays have the same length; a NaN in `y` is a gap and breaks the curve. */
export interface PictureTrace {
  readonly flight: FlightKey
  readonly signal: PictureSignal
  /** Of motors only, counted from 1. */
  readonly motor?: number
  readonly t_s: Float64Array
  /** In the row's unit, already reduced to about two points a pixel. */
  readonly y: Float32Array
}

/** One axis: the setpoints and gyros of both flights on one locked scale, in deg/s as a rule. */
export interface AxisRow {
  readonly axis: Axis
  readonly unit: string
  readonly yMin: number
  readonly yMax: number
  readonly traces: readonly PictureTrace[]
}

/** The throttle's or the motors' row. */
export interface ExtraRow {
  readonly unit: string
  readonly yMin: number
  readonly yMax: number
  readonly traces: readonly PictureTrace[]
}

export type { ColourMapName }

/** Spectrograms of the gyro for both flights, on one range of levels and one range of frequencies. */
export interface PictureSpectrograms {
  readonly lanes: readonly SpectrogramLane[]
  /** The colour bar's ends; levels outside take the end's colour. min_db < max_db. */
  readonly min_db: number
  readonly max_db: number
  /** What the levels are, for the colour bar: 'dB re 1 (deg/s)²/Hz'. */
  readonly unit: string
  /** The shown band, common to all lanes. */
  readonly fMin_hz: number
  readonly fMax_hz: number
  readonly map: ColourMapName
}

export interface SpectrogramLane {
  readonly axis: Axis
  readonly flight: FlightKey
  readonly frames: number
  readonly bins: number
  /** Middle of each frame on the common clock, rising; length `frames`. */
  readonly t_s: Float64Array
  /** Frequency of each bin, evenly spaced and rising; length `bins`. */
  readonly f_hz: Float64Array
  /** Frame after frame: level_db[frame * bins + bin]. NaN where the frame touches a gap: drawn as empty. */
  readonly level_db: Float32Array
}

export interface PictureMeasure {
  /** 'tracking error, RMS' */
  readonly label: string
  /** What the numbers are of: 'the shown span'. Measures of one thing stand together below these words. */
  readonly of?: string
  readonly unit: string
  /** Digits after the point, the same for A, B and the difference. */
  readonly digits: number
  /** Which direction is good; 'neither' for what only tells how hard the flight was flown. */
  readonly better: 'lower' | 'higher' | 'neither'
  /** Per axis; an axis that is missing draws a dash. */
  readonly cells: Partial<Record<Axis, MeasureCell>>
}

/** The word of the verdict, when there is one. */
export type VerdictWord = 'better' | 'worse' | 'no clear difference' | "can't tell"

export interface MeasureCell {
  /** null draws a dash; `reason` then says why, once for all equal reasons. */
  readonly a: number | null
  readonly b: number | null
  /** b - a in the measure's unit. */
  readonly difference: number | null
  readonly reason?: string
  readonly word?: VerdictWord
  /** Interval of the difference, in the measure's unit. */
  readonly interval?: { readonly low: number; readonly high: number }
  /** How many pairs of manoeuvres the word rests on. */
  readonly pairs?: number
}

/** A setting that differs; null where the sheet has no such line. */
export interface PictureSetting {
  readonly name: string
  readonly a: string | null
  readonly b: string | null
}

export interface PictureNotice {
  readonly level: 'info' | 'caution' | 'missing'
  readonly text: string
}

export interface PictureFooter {
  /** The program's name. */
  readonly program: string
  /** What is not in the picture and why, one sentence each: gaps, parts of the flights, columns. */
  readonly leftOut: readonly string[]
  /** How to fly on what is shown without being hurt. */
  readonly care?: string
  /** The sentence that every picture carries. */
  readonly caution: string
}

/** What a log can and can't say; stands on every picture. */
export const PICTURE_CAUTION = 'A log shows what was recorded, not that a craft is airworthy.'

/** Whoever copies a setting from a picture should have read these (common practice, no source). */
export const FLYING_CARE = [
  'Props off on the bench.',
  'After raising D or opening filters, hover briefly, land, and feel the motors before flying on.',
  'Change one thing at a time and keep a copy of the old settings.',
  'Fly where a failure hurts no one, by your local rules.',
] as const

/** All buffers of a model, for the transfer list of a worker's message; each buffer once. */
export function transferables(model: ComparisonPicture): ArrayBuffer[] {
  const buffers = new Set<ArrayBuffer>()
  const keep = (array: Float32Array | Float64Array): void => {
    // A shared buffer is shared by posting it and must not be in a transfer list.
    if (array.buffer instanceof ArrayBuffer) buffers.add(array.buffer)
  }
  for (const row of [...model.rows, model.throttle, model.motors]) {
    for (const trace of row?.traces ?? []) {
      keep(trace.t_s)
      keep(trace.y)
    }
  }
  for (const lane of model.spectrograms?.lanes ?? []) {
    keep(lane.t_s)
    keep(lane.f_hz)
    keep(lane.level_db)
  }
  return [...buffers]
}
