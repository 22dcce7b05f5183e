import { clockNotices } from '../../workers/health/health.ts'
import type { ClockReport, FlightSpan, Notice, ReadLog } from '../../workers/log/log.ts'
import type { ActivityStrip } from '../../workers/flight/activity-strip.ts'

/** Rows [from, to) of a log, with the times of the first and the last on the log's mended clock. */
export interface LogSpan {
  readonly from: number
  readonly to: number
  readonly t0_s: number
  readonly t1_s: number
}

/** A flight that was found in a log, offered to the pilot. */
export interface OfferedSpan extends LogSpan {
  readonly kind: FlightSpan['kind']
  readonly how: string
}

/** One flight of a log, judged. */
export interface FlightPart {
  /** What is put behind the file's name to tell the flights of one log apart; '' for the only one. */
  readonly nameSuffix: string
  /** Null when the flight is the whole log. */
  readonly rows: { readonly from: number; readonly to: number } | null
  readonly span: { readonly t0_s: number; readonly t1_s: number } | null
  readonly clock: ClockReport
  /** The file's notices and the flight's own. */
  readonly notices: readonly Notice[]
  readonly activity: ActivityStrip | null
}

/** What was found in a log beside its columns. */
export interface LogJudgement {
  /** What is to be known of the file whatever part of it is looked at. */
  readonly fileNotices: readonly Notice[]
  readonly spans: readonly OfferedSpan[]
  /** Of the whole log. */
  readonly activity: ActivityStrip | null
  /** At least one. */
  readonly parts: readonly FlightPart[]
}

/** A log taken as one flight from end to end, without a look at its samples. */
export function wholeLog(log: ReadLog): LogJudgement {
  const part = {
    nameSuffix: '',
    rows: null,
    span: null,
    clock: log.clock,
    notices: log.notices,
    activity: null,
  }
  return { fileNotices: fileNoticesOf(log), spans: [], activity: null, parts: [part] }
}

/** The notices of a read log that are about the file; those about the flight begin with what is said of its clock. */
export function fileNoticesOf(log: ReadLog): Notice[] {
  const first = clockNotices(log.clock)[0]?.text
  const begin = log.notices.findIndex((notice) => notice.text === first)
  return begin < 0 ? [...log.notices] : log.notices.slice(0, begin)
}
