import type { Alignment } from '../align/align.ts'
import { AXES, perAxis, type Axis } from '../flight/axes.ts'
import { motorChannels, type ChannelName } from '../flight/signals.ts'
import {
  FLYING_CARE,
  PICTURE_CAUTION,
  type AxisRow,
  type ComparisonPicture,
  type ExtraRow,
  type FlightKey,
  type MeasureCell,
  type PictureFlight,
  type PictureMeasure,
  type PictureNotice,
  type PictureSetting,
  type PictureSignal,
  type PictureTheme,
  type PictureTrace,
  type SpectrogramLane,
} from '../picture/model.ts'
import { commonLevelRange } from '../picture/ranges.ts'
import { asLine, reduce } from '../reduce/reduce.ts'
import { formatSigned } from '../ticks/ticks.ts'
import type { Comparison as Verdict } from '../verdict/comparison.ts'
import { flyingCaution, MEASURES, type Measured, type SpanMeasures } from './flight-measures.ts'
import { USUAL_PARTS, type PictureParts } from './picture-parts.ts'
import { headlinesOf, verdictLeavesOut, verdictMeasures } from './picture-verdict.ts'
import { rateRange, type DrawnFlight } from './ranges.ts'
import type { Lane } from './spectra.ts'

/** What a picture says of a flight beside its curves. */
export interface FlightWords {
  readonly name: string
  readonly craft: string
  readonly date: string | null
}

export interface PictureRequest {
  readonly title: string
  readonly theme: PictureTheme
  readonly width_px: number
  readonly note: string
  readonly a: DrawnFlight
  readonly b: DrawnFlight
  readonly words: Readonly<Record<FlightKey, FlightWords>>
  readonly alignment: Alignment
  /** The offset in force, which may have been set by hand. */
  readonly offset_s: number
  /** Why B lies there, where that is not the alignment's doing nor the pilot's hand; it follows 'moved by 1 s'. */
  readonly laid?: string
  readonly t0_s: number
  readonly t1_s: number
  readonly measures: SpanMeasures
  /** Spectrograms over the same span, each on its flight's own clock; null where there is none. */
  readonly lanes: Readonly<Record<FlightKey, Readonly<Record<Axis, Lane | null>>>>
  /** The verdict on the two whole flights, when it is known: drawn large, with what it rests on. */
  readonly verdict?: Verdict | null
  /** Levels as the window shows them; left out: fitted to both flights. */
  readonly range_db?: { readonly min_db: number; readonly max_db: number } | null
  /** What is shown of all that; left out: as usual. */
  readonly parts?: PictureParts
  /** Settings that differ between A and B, and how many more differ but tell who or where (see workers/share). */
  readonly settings?: { readonly shown: readonly PictureSetting[]; readonly hidden: number } | null
}

/** What the numbers of the span are of, where other numbers stand beside them. */
const OF_SPAN = 'The shown span as it was flown, like or not'

/** Columns that curves are reduced to: two points each at the double scale that pictures are drawn at. */
const CURVE_COLUMNS = 1200

/**
 * Puts a comparison into the picture's plain data: curves reduced on the common clock, one locked scale per axis,
 * one range of levels, the measures with their reasons, and everything that was left out said in words.
 */
export function buildPicture(request: PictureRequest): ComparisonPicture {
  const { a, b, t0_s, t1_s, measures } = request
  const parts = request.parts ?? USUAL_PARTS
  const verdict = parts.verdict ? (request.verdict ?? null) : null
  const settings = parts.settings ? (request.settings ?? null) : null
  const rows = parts.axes.map((axis): AxisRow => {
    const range = rateRange(
      [
        { flight: a, t0_s, t1_s },
        { flight: b, t0_s: t0_s - request.offset_s, t1_s: t1_s - request.offset_s },
      ],
      axis,
    )
    return {
      axis,
      unit: 'deg/s',
      yMin: range.min,
      yMax: range.max,
      traces: [
        ...tracesOf(request, 'setpoint', `setpoint.${axis}`),
        ...tracesOf(request, 'gyro', `gyro.${axis}`),
      ],
    }
  })
  const throttle = parts.throttle ? percentRow(tracesOf(request, 'throttle', 'throttle')) : null
  const motors = parts.motors ? percentRow(motorTraces(request)) : null
  const spectrograms = parts.spectrograms ? spectrogramsOf(request, parts.axes) : null
  return {
    title: request.title,
    theme: request.theme,
    scale: 2,
    width_px: request.width_px,
    a: pictureFlight('A (before)', a, request.words.a, parts),
    b: pictureFlight('B (after)', b, request.words.b, parts),
    span: { t0_s, t1_s, clock: 'time since the start of A', samples: samplesOf(measures) },
    alignment: alignmentSentence(request.alignment, request.offset_s, request.laid ?? ''),
    rows,
    ...(throttle ? { throttle } : {}),
    ...(motors ? { motors } : {}),
    ...(spectrograms ? { spectrograms } : {}),
    measures: [
      ...(verdict ? verdictMeasures(verdict) : []),
      ...(parts.measures ? spanMeasures(measures, verdict !== null) : []),
    ],
    ...(verdict ? { headlines: headlinesOf(verdict) } : {}),
    ...(settings ? { settings: settings.shown } : {}),
    note: request.note,
    notices: noticesOf(request, verdict),
    footer: {
      program: 'Twopack',
      leftOut: [
        ...leftOut(request, parts),
        ...(verdict ? verdictLeavesOut(verdict) : []),
        ...(settings && settings.hidden > 0
          ? [`${settings.hidden} changed settings that may tell who or where.`]
          : []),
      ],
      care: FLYING_CARE.join(' '),
      caution: PICTURE_CAUTION,
    },
  }
}

/** A channel's curves of both flights, as far as it is logged. */
function tracesOf(
  request: PictureRequest,
  signal: PictureSignal,
  channel: ChannelName,
  motor?: number,
): PictureTrace[] {
  const { t0_s, t1_s } = request
  return (['a', 'b'] as const).flatMap((flight) => {
    const shift_s = flight === 'a' ? 0 : request.offset_s
    const line = curve(request[flight], channel, shift_s, t0_s, t1_s)
    return line ? [{ flight, signal, ...line, ...(motor === undefined ? {} : { motor }) }] : []
  })
}

function motorTraces(request: PictureRequest): PictureTrace[] {
  const logged = [...motorChannels(request.a.signals), ...motorChannels(request.b.signals)]
  return [...new Set(logged)].flatMap((channel) =>
    tracesOf(request, 'motor', channel, Number(channel.slice('motor.'.length))),
  )
}

/** The most samples that any axis of each flight has in the span. */
function samplesOf({ a, b }: SpanMeasures): Record<FlightKey, number> {
  return {
    a: Math.max(...AXES.map((axis) => a[axis].samples)),
    b: Math.max(...AXES.map((axis) => b[axis].samples)),
  }
}

/** How B was laid over A, in one sentence. */
export function alignmentSentence(alignment: Alignment, offset_s: number, laid = ''): string {
  const moved = `B moved by ${formatSigned(offset_s, 3)} s`
  if (laid !== '') return `${moved} ${laid}`
  return offset_s === alignment.offset_s ? `${moved}. ${alignment.reason}` : `${moved}, set by hand.`
}

function pictureFlight(
  label: string,
  { signals }: DrawnFlight,
  words: FlightWords,
  parts: PictureParts,
): PictureFlight {
  return {
    label,
    name: parts.names ? words.name : '',
    ...(parts.craft && words.craft ? { craft: words.craft } : {}),
    ...(parts.dates && words.date ? { date: words.date } : {}),
    rate_hz: signals.rate_hz,
    duration_s: (signals.t_s.at(-1) ?? 0) - (signals.t_s[0] ?? 0),
  }
}

/** A channel's visible part on the common clock; null when it is not logged. Throttle and motors in percent. */
function curve(flight: DrawnFlight, channel: ChannelName, shift_s: number, t0_s: number, t1_s: number) {
  const samples = flight.signals.channels[channel]
  const pyramid = flight.pyramids[channel]
  if (!samples || !pyramid) return null
  const { t_s, rate_hz } = flight.signals
  const gap_s = rate_hz > 0 ? 3 / rate_hz : Infinity
  const { x, y } = asLine(reduce(t_s, samples, pyramid, t0_s - shift_s, t1_s - shift_s, CURVE_COLUMNS, gap_s))
  const factor = channel === 'throttle' || channel.startsWith('motor.') ? 100 : 1
  return { t_s: x.map((at_s) => at_s + shift_s), y: y.map((value) => value * factor) }
}

function percentRow(traces: readonly PictureTrace[]): ExtraRow | null {
  return traces.length === 0 ? null : { unit: '%', yMin: 0, yMax: 100, traces }
}

function spectrogramsOf(
  request: PictureRequest,
  axes: readonly Axis[],
): ComparisonPicture['spectrograms'] | null {
  const lanes = (['a', 'b'] as const).flatMap((flight) =>
    axes.flatMap((axis): SpectrogramLane[] => {
      const lane = request.lanes[flight][axis]
      if (!lane || lane.frames === 0) return []
      const shift_s = flight === 'a' ? 0 : request.offset_s
      const { frames, bins, f_hz, level_db } = lane
      return [{ axis, flight, frames, bins, f_hz, level_db, t_s: lane.t_s.map((at_s) => at_s + shift_s) }]
    }),
  )
  const range = request.range_db ?? commonLevelRange(lanes)
  if (lanes.length === 0 || !range) return null
  return {
    lanes,
    ...range,
    unit: 'dB re 1 (deg/s)²/Hz',
    fMin_hz: 0,
    // The band that both flights hold: above the lower of the two half rates one of them would be empty.
    fMax_hz: Math.min(request.a.signals.rate_hz, request.b.signals.rate_hz) / 2,
    map: 'magma',
  }
}

function spanMeasures({ a, b }: SpanMeasures, besideOthers: boolean): PictureMeasure[] {
  return MEASURES.map((measure) => ({
    label: measure.label,
    ...(besideOthers ? { of: OF_SPAN } : {}),
    unit: measure.unit,
    digits: measure.digits,
    better: measure.better,
    cells: perAxis((axis): MeasureCell => {
      const before = a[axis][measure.key]
      const after = b[axis][measure.key]
      const both = before.value !== null && after.value !== null
      const reason = reasonOf(before, after)
      return {
        a: before.value,
        b: after.value,
        difference: both ? after.value - before.value : null,
        ...(reason ? { reason } : {}),
      }
    }),
  }))
}

/** Why a cell has no number, said once where both flights lack it for the same reason. */
function reasonOf(a: Measured, b: Measured): string | null {
  if (a.reason && a.reason === b.reason) return `A and B: ${a.reason}`
  const reasons = [a.reason && `A: ${a.reason}`, b.reason && `B: ${b.reason}`].filter(
    (reason) => reason !== null,
  )
  return reasons.join(' ') || null
}

function noticesOf(
  { alignment, offset_s, measures }: PictureRequest,
  verdict: Verdict | null,
): PictureNotice[] {
  const notices: PictureNotice[] = []
  if (offset_s === alignment.offset_s && (alignment.sure === 'guess' || alignment.sure === 'none')) {
    notices.push({
      level: 'caution',
      text: 'How B lies over A is not sure: check it before you trust the numbers.',
    })
  }
  const flying = flyingCaution(measures)
  if (flying) notices.push({ level: 'caution', text: flying })
  if (verdict) return [...notices, ...verdict.cautions.map((text) => ({ level: 'caution' as const, text }))]
  notices.push({
    level: 'info',
    text: 'Two flights are one observation of each tune: a difference here is a reason to look, not yet a verdict.',
  })
  return notices
}

/** Which columns are not in the picture because a log lacks them, and what was not asked for. */
function leftOut({ a, b }: PictureRequest, parts: PictureParts): string[] {
  const lines: string[] = []
  for (const [label, { signals }] of [
    ['A', a],
    ['B', b],
  ] as const) {
    for (const kind of ['gyro', 'setpoint'] as const) {
      const missing = parts.axes.filter((axis) => !signals.channels[`${kind}.${axis}`])
      if (missing.length > 0) lines.push(`No ${kind} of ${missing.join(', ')} in ${label}.`)
    }
    if (parts.throttle && !signals.channels.throttle) lines.push(`No throttle in ${label}.`)
    if (parts.motors && motorChannels(signals).length === 0) lines.push(`No motors in ${label}.`)
  }
  const axes = AXES.filter((axis) => !parts.axes.includes(axis))
  const unasked = [...axes, ...(['throttle', 'motors'] as const).filter((row) => !parts[row])]
  if (unasked.length > 0) lines.push(`Not asked for: ${unasked.join(', ')}.`)
  return lines
}
