import { AXES, type Axis } from '../flight/axes.ts'

/** What the pilot has on the picture and on everything that is shared beside it. */
export interface PictureParts {
  /** Rows of curves, and rows of the tables; at least one. */
  readonly axes: readonly Axis[]
  readonly throttle: boolean
  readonly motors: boolean
  readonly spectrograms: boolean
  /** Measures over the shown span. */
  readonly measures: boolean
  /** The verdict in words, with its headline measures, intervals and pairs. */
  readonly verdict: boolean
  /** Settings that differ between A and B. */
  readonly settings: boolean
  /** Names of flights, which often come from file names. */
  readonly names: boolean
  readonly craft: boolean
  readonly dates: boolean
}

/** Everything but what tells who flew what and when. */
export const USUAL_PARTS: PictureParts = {
  axes: AXES,
  throttle: true,
  motors: false,
  spectrograms: true,
  measures: true,
  verdict: true,
  settings: true,
  names: false,
  craft: false,
  dates: false,
}

/** The title of what is shared while the pilot has given none. */
export const USUAL_TITLE = 'Before against after'
