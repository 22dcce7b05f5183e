import type { FlightSpan, Glance, ReadLog } from '../../workers/log/log.ts'
import { fileNoticesOf, wholeLog, type FlightPart, type LogJudgement, type OfferedSpan } from './judgement.ts'
import { checkClockRuns } from './running-clock.ts'
import { runSurvey } from './run-survey.ts'
import type { SurveyedPart } from './survey.ts'

/**
 * What a freshly read log is to be listed as. A log with several flights gives one part each; short hops are offered
 * only. A log with one flight is taken whole, with the time before take-off and after landing; its columns are then
 * not looked through again.
 * @throws Problem no-time when the clock stands still, or as `runSurvey` does
 */
export async function judgeLog(
  columnFile: string,
  log: ReadLog,
  signal?: AbortSignal,
): Promise<LogJudgement> {
  checkClockRuns(log.clock.duration_s, log.assignments)
  const found = log.flights ?? []
  if (log.glance && found.filter(({ kind }) => kind === 'flight').length < 2)
    return judgedByReading(log, log.glance)
  const surveyed = await runSurvey(
    {
      columnFile,
      layout: log.layout,
      assignments: log.assignments,
      parts: [{ from: 0, to: log.rows }, ...found.map(({ from, to }) => ({ from, to }))],
    },
    signal,
  )
  const [whole, ...each] = surveyed as [SurveyedPart, ...SurveyedPart[]]
  const spans = found.map((span, index) => offered(span, each[index] as SurveyedPart))
  const fileNotices = fileNoticesOf(log)
  const flights = spans.flatMap((span, index) =>
    span.kind === 'flight' ? [each[index] as SurveyedPart] : [],
  )
  const parts: FlightPart[] =
    flights.length < 2
      ? [partOf(whole, fileNotices, '', true)]
      : flights.map((flight, index) =>
          partOf(flight, fileNotices, `, flight ${index + 1} of ${flights.length}`, false),
        )
  return { fileNotices, spans, activity: whole.activity, parts }
}

/** A log of one flight is the whole of it, and of that the reading has told everything. */
function judgedByReading(log: ReadLog, { activity, flightTimes }: Glance): LogJudgement {
  const { fileNotices, parts } = wholeLog(log)
  const spans = (log.flights ?? []).map(({ from, to, kind, how }, index): OfferedSpan => {
    return { from, to, ...(flightTimes[index] as Glance['flightTimes'][number]), kind, how }
  })
  return { fileNotices, spans, activity, parts: parts.map((part) => ({ ...part, activity })) }
}

/** A surveyed part as a flight of the logbook. */
export function partOf(
  { rows, span, clock, health, activity }: SurveyedPart,
  fileNotices: FlightPart['notices'],
  nameSuffix: string,
  isWhole: boolean,
): FlightPart {
  return {
    nameSuffix,
    rows: isWhole ? null : rows,
    span: isWhole ? null : span,
    clock,
    notices: [...fileNotices, ...health],
    activity,
  }
}

function offered({ kind, how }: FlightSpan, { rows, span }: SurveyedPart): OfferedSpan {
  return { ...rows, ...span, kind, how }
}
