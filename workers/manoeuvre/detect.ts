import { AXES, type Axis } from '../flight/axes.ts'
import type { FlightSignals } from '../flight/signals.ts'
import { findWashEvents } from '../response/prop-wash.ts'
import { findThrottleSteps } from '../response/throttle-steps.ts'
import { commandsOf, meanOver, type Commands } from './commands.ts'
import { findHovering } from './hovering.ts'
import type { Manoeuvre, ManoeuvreEdit, ManoeuvreInputs, ManoeuvreKind } from './manoeuvre.ts'
import { CATCH_AFTER_TURN, manoeuvreName } from './names.ts'
import { findStrokes, type Stroke } from './strokes.ts'

export const MANOEUVRE_METHOD = { id: 'manoeuvres', version: 2 }

/** Limits of the kinds (common practice, no source). */
export const LIMITS = {
  /** A lone stroke or the strokes of a snap reach this. */
  stroke_dps: 150,
  /** A turn turns at least this far. */
  turn_deg: 250,
  /** The second stroke of a snap starts this soon after the first is over, and is no longer than that. */
  snapPause_s: 0.15,
  snapStroke_s: 0.6,
  /** A sweep has so many strokes to and fro, and no longer pause between them. */
  sweepStrokes: 6,
  sweepPause_s: 0.25,
  /** A throttle opened this soon after a turn catches what the turn left. */
  turnExit_s: 0.5,
  /** Throttle steps: our own definition, see throttle-steps.ts; a shorter quiet so that the chop after a punch counts. */
  throttleStep: { least: 0.25, within_s: 0.2, quiet_s: 0.15 },
} as const

/** After a stop the craft's answer is looked at for so long. */
export const AFTER_STOP_S = 0.4

export interface DetectOptions {
  readonly edits?: readonly ManoeuvreEdit[]
}

/**
 * The manoeuvres of a flight from setpoint (or sticks, where the setpoint is not logged) and throttle, in order of
 * time. The gyro is never looked at. Edits put kinds right; what is left out does not come back.
 */
export function detectManoeuvres(signals: FlightSignals, options: DetectOptions = {}): Manoeuvre[] {
  const commands = commandsOf(signals)
  const t0_s = signals.t_s[0] ?? 0
  const found = [...AXES.flatMap((axis) => stickManoeuvres(commands, axis)), ...throttleManoeuvres(commands)]
  const all = [...found, ...findHovering(commands, found)]
    .map((draft) => finished(draft, commands, t0_s, found))
    .sort((a, b) => a.start_s - b.start_s || a.id.localeCompare(b.id))
  return applyEdits(all, options.edits ?? [])
}

/** A manoeuvre in samples of the commands. */
export interface Draft {
  readonly kind: ManoeuvreKind
  readonly axis: Axis | null
  readonly direction: 1 | -1 | 0
  readonly start: number
  readonly stop: number | null
  readonly end: number
  readonly stroke: Stroke | null
  readonly step: number
}

function stickManoeuvres({ setpoint, rate_hz }: Commands, axis: Axis): Draft[] {
  const samples = setpoint[axis]
  if (!samples) return []
  const strokes = findStrokes(samples, rate_hz)
  const drafts: Draft[] = []
  for (let k = 0; k < strokes.length;) {
    const sweep = sweepLength(strokes, k, rate_hz)
    const stroke = strokes[k]!
    const next = strokes[k + 1]
    if (sweep >= LIMITS.sweepStrokes) {
      const last = strokes[k + sweep - 1]!
      drafts.push({
        kind: 'sweep',
        axis,
        direction: 0,
        start: stroke.start,
        stop: null,
        end: last.end,
        stroke: strokes.slice(k, k + sweep).reduce((a, b) => (b.peak_dps > a.peak_dps ? b : a)),
        step: NaN,
      })
      k += sweep
      continue
    }
    const large = stroke.peak_dps >= LIMITS.stroke_dps
    if (large && next && isSnap(stroke, next, rate_hz)) {
      drafts.push(stopped('snap', axis, stroke.start, next))
      k += 2
      continue
    }
    if (large)
      drafts.push(stopped(stroke.angle_deg >= LIMITS.turn_deg ? 'turn' : 'swing', axis, stroke.start, stroke))
    k++
  }
  return drafts
}

const stopped = (kind: ManoeuvreKind, axis: Axis, start: number, stroke: Stroke): Draft => ({
  kind,
  axis,
  direction: stroke.direction,
  start,
  stop: stroke.stop,
  end: stroke.stop,
  stroke,
  step: NaN,
})

function isSnap(first: Stroke, second: Stroke, rate_hz: number): boolean {
  const longest = LIMITS.snapStroke_s * rate_hz
  return (
    second.direction !== first.direction &&
    second.peak_dps >= LIMITS.stroke_dps &&
    second.start - first.stop <= LIMITS.snapPause_s * rate_hz &&
    first.stop - first.start <= longest &&
    second.stop - second.start <= longest
  )
}

function sweepLength(strokes: readonly Stroke[], from: number, rate_hz: number): number {
  let length = 1
  for (let k = from + 1; k < strokes.length; k++) {
    const before = strokes[k - 1]!
    const stroke = strokes[k]!
    const alternates = stroke.direction !== before.direction
    const soon = stroke.start - before.end <= LIMITS.sweepPause_s * rate_hz
    const alike =
      Math.max(stroke.peak_dps, before.peak_dps) <= 2.5 * Math.min(stroke.peak_dps, before.peak_dps)
    if (!(alternates && soon && alike)) break
    length++
  }
  return length
}

function throttleManoeuvres({ throttle, rate_hz }: Commands): Draft[] {
  if (!throttle) return []
  const rest = { axis: null, direction: 0, stroke: null } as const
  const wash = findWashEvents(throttle, rate_hz).map((event): Draft => ({
    ...rest,
    kind: 'wash',
    start: event.start,
    stop: event.start,
    end: event.end,
    step: event.recovery,
  }))
  const steps = findThrottleSteps(throttle, rate_hz, LIMITS.throttleStep).map((step): Draft => ({
    ...rest,
    kind: step.kind,
    start: step.start,
    stop: step.start,
    end: step.start + Math.round(0.3 * rate_hz),
    step: step.to - step.from,
  }))
  // The opening that catches a drop is the wash's own, not a punch.
  const own = steps.filter(
    (step) =>
      !wash.some((event) => Math.abs(step.start - event.start) < 0.3 * rate_hz && step.kind === 'punch'),
  )
  return [...wash, ...own]
}

function finished(draft: Draft, commands: Commands, t0_s: number, others: readonly Draft[]): Manoeuvre {
  const { rate_hz } = commands
  const at = (index: number) => t0_s + index / rate_hz
  const reference = Math.round(draft.stop ?? draft.start)
  const long = Math.round(0.25 * rate_hz)
  const until = draft.kind === 'hover' ? Math.round(draft.end) : reference + long
  const throttle = meanOver(commands.throttle, reference, until)
  const inputs: ManoeuvreInputs = {
    peak_dps: draft.stroke?.peak_dps ?? null,
    snap_dps2: draft.stroke?.snap_dps2 ?? null,
    duration_s: (draft.end - draft.start) / rate_hz,
    throttle: orNull(throttle),
    load: orNull(throttle / commands.usualThrottle),
    step: orNull(draft.step),
    angle_deg: draft.stroke?.angle_deg ?? null,
    voltage_V: orNull(meanOver(commands.voltage_V, reference, until)),
  }
  const start_s = at(draft.start)
  return {
    id: `${draft.axis ?? draft.kind}@${start_s.toFixed(2)}`,
    kind: draft.kind,
    name: turning(draft, others, rate_hz)
      ? CATCH_AFTER_TURN
      : manoeuvreName(draft.kind, draft.axis, draft.direction),
    axis: draft.axis,
    direction: draft.direction,
    start_s,
    stop_s: draft.stop === null ? null : at(draft.stop),
    end_s: at(draft.end),
    inputs,
    edited: false,
  }
}

/** Plain data hold no NaN. */
const orNull = (value: number) => (Number.isFinite(value) ? value : null)

/** The way out of an inverted stretch: the throttle opens during a turn or just after it. */
function turning(draft: Draft, others: readonly Draft[], rate_hz: number): boolean {
  if (draft.kind !== 'wash') return false
  return others.some(
    ({ kind, start, end }) =>
      kind === 'turn' && draft.start > start && draft.start < end + LIMITS.turnExit_s * rate_hz,
  )
}

function applyEdits(all: readonly Manoeuvre[], edits: readonly ManoeuvreEdit[]): Manoeuvre[] {
  const byId = new Map(edits.map((edit) => [edit.id, edit]))
  return all.flatMap((manoeuvre) => {
    const edit = byId.get(manoeuvre.id)
    if (!edit) return [manoeuvre]
    if (edit.leaveOut) return []
    if (edit.kind === undefined || edit.kind === manoeuvre.kind) return [manoeuvre]
    const name = manoeuvreName(edit.kind, manoeuvre.axis, manoeuvre.direction)
    return [{ ...manoeuvre, kind: edit.kind, name, edited: true }]
  })
}
