import { transfer } from 'comlink'
import type { PictureRequest } from '../../workers/comparison/build-picture.ts'
import { AXES, perAxis, type Axis, type PerAxis } from '../../workers/flight/axes.ts'
import type { Lane } from '../../workers/comparison/spectra.ts'
import { transferables, type ComparisonPicture } from '../../workers/picture/model.ts'
import type { ShareDocument } from '../../workers/share/document.ts'
import type { LoadedFlight } from '../compare/load-flight.ts'
import { dayInWords } from '../logbook/words.ts'
import { laneOf } from '../work/lane-of.ts'
import { comparisonWorkers, pictureWorkers } from '../work/workers.ts'
import { pictureFonts } from './picture-fonts.ts'

/** Frames per lane of a picture: one for each device pixel of a 1200 px picture's curves. */
const LANE_COLUMNS = 1000

const NO_LANES: PerAxis<null> = perAxis(() => null)

/** Which part of the flights is shown, B laid over A by offset_s. */
export interface ShownSpan {
  readonly t0_s: number
  readonly t1_s: number
  readonly offset_s: number
  /** How B came to lie there, where that is not the comparison's own alignment; '' where it is. */
  readonly laid: string
}

/** The numbers of a span that a picture needs: computed once, whatever else changes on it. */
export type SpanNumbers = Pick<PictureRequest, 'measures' | 'lanes'>

/** Measures a span, and its spectrograms where they are shown. @throws Problem 'cancelled' or 'worker-died' */
export async function computeSpan(
  a: LoadedFlight,
  b: LoadedFlight,
  { t0_s, t1_s, offset_s }: ShownSpan,
  axes: readonly Axis[],
  signal: AbortSignal,
): Promise<SpanNumbers> {
  const lanesOf = async (flight: LoadedFlight, shift_s: number): Promise<PerAxis<Lane | null>> => {
    if (axes.length === 0) return NO_LANES
    const found = await Promise.all(
      AXES.map((axis) =>
        axes.includes(axis)
          ? laneOf(
              { signals: flight.signals, detail: flight.detail, signal: 'gyro', axis },
              ...([t0_s - shift_s, t1_s - shift_s, LANE_COLUMNS, signal] as const),
            )
          : null,
      ),
    )
    return perAxis((axis) => found[AXES.indexOf(axis)] ?? null)
  }
  const [measures, lanesA, lanesB] = await Promise.all([
    comparisonWorkers.run((worker) => worker.measure(a.signals, b.signals, offset_s, t0_s, t1_s), signal),
    lanesOf(a, 0),
    lanesOf(b, offset_s),
  ])
  return { measures, lanes: { a: lanesA, b: lanesB } }
}

/** The model for a worker: its curves go by transfer, its spectrograms are copied, since they are used again. */
const handOver = (model: ComparisonPicture) => {
  const curves = { ...model }
  delete curves.spectrograms
  return transfer(model, transferables(curves))
}

/** The picture as PNG. The model's curves are gone afterwards. @throws Problem 'cancelled' or 'worker-died' */
export function drawPng(model: ComparisonPicture, signal: AbortSignal): Promise<Uint8Array<ArrayBuffer>> {
  return pictureWorkers.run((worker) => worker.drawPng(handOver(model), pictureFonts()), signal)
}

/** The same as the text of an SVG file. */
export function drawSvg(model: ComparisonPicture, signal: AbortSignal): Promise<string> {
  return pictureWorkers.run((worker) => worker.drawSvg(handOver(model), pictureFonts()), signal)
}

/** The whole comparison as one HTML file with both pictures in it. */
export function drawPage(
  model: ComparisonPicture,
  document: ShareDocument,
  signal: AbortSignal,
): Promise<string> {
  return pictureWorkers.run((worker) => worker.drawPage(handOver(model), document, pictureFonts()), signal)
}

export function wordsOf(detail: { name: string; craft: string; flownAt_ms: number | null }) {
  return {
    name: detail.name,
    craft: detail.craft,
    date: detail.flownAt_ms === null ? null : dayInWords(detail),
  }
}
