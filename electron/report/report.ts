import { mkdir, mkdtemp, rm, writeFile } from 'node:fs/promises'
import { tmpdir } from 'node:os'
import { basename, join } from 'node:path'
import * as v from 'valibot'
import { alignFlights } from '../../workers/align/align.ts'
import { alignable } from '../../workers/comparison/alignable.ts'
import { alignmentSentence } from '../../workers/comparison/build-picture.ts'
import {
  flyingCaution,
  MEASURES,
  measureSpan,
  type SpanMeasures,
} from '../../workers/comparison/flight-measures.ts'
import { prepareFlight } from '../../workers/comparison/prepare-flight.ts'
import { commonSpan, type DrawnFlight } from '../../workers/comparison/ranges.ts'
import { spectrogramLane } from '../../workers/comparison/spectra.ts'
import { AXES, perAxis } from '../../workers/flight/axes.ts'
import type { RawColumn } from '../../workers/flight/signals.ts'
import type { ReadLog } from '../../workers/log/log.ts'
import { readGlossary, type Glossary } from '../../workers/settings/glossary.ts'
import { changedSettings } from '../../workers/share/changed-settings.ts'
import { pilotNotes, type PilotNotes } from '../library/read-only.ts'
import { sheetOfFlight } from '../../workers/settings/sheet-of-flight.ts'
import type { Setting } from '../../workers/settings/sheet.ts'
import { Problem } from '../../workers/log/problems.ts'
import { compareFlights } from '../../workers/verdict/compare-flights.ts'
import { readColumnValues } from '../intake/column-file.ts'
import { readLog } from '../intake/intake.ts'
import { settingsBeside } from '../intake/settings-beside.ts'
import { USUAL_REPORT, type ReportOrder } from './arguments.ts'
import { flightReport } from './flight-report.ts'
import { REPORT_FORMAT, reportSchema, type Report } from './format.ts'
import { cardFiles, notesReport } from './notes-report.ts'
import { settingsReport, sheetOf, type ReportSheet } from './settings-report.ts'
import { responseReport } from './response-report.ts'
import { chosenColumns, excerptFiles, sharedFiles, type Files } from './shared-files.ts'
import { verdictReport } from './verdict-report.ts'

const LANE_COLUMNS = 1000

interface ReportFlight extends DrawnFlight {
  readonly log: ReadLog
  /** Columns without a meaning that an excerpt takes, by their index. */
  readonly raw: ReadonlyMap<number, RawColumn>
  /** In force during the flight: the given sheet, else one beside the log, else the lines above its table. */
  readonly settings: readonly Setting[]
  /** Lines of the sheet that say no setting. */
  readonly unread: readonly unknown[]
}

/** A report, with what was said of it beside its numbers. */
export type Written = Report & { readonly notes: readonly string[] }

/**
 * Compares two log files and writes report.json and whatever else was ordered into a folder, through the same code as
 * the window. Picture and text need a span in which both flights have samples; without one there is only the report.
 * Nothing is written before all of it is made.
 *
 * @throws Problem for a file that can't be read, an order that can't be carried out, or a folder that can't be written.
 */
export async function writeReport(
  pathA: string,
  pathB: string,
  out: string,
  order: ReportOrder = USUAL_REPORT,
): Promise<Written> {
  const also = order.excerpt?.also ?? []
  const a = await readFlight(pathA, also, order.settings?.a ?? null)
  const b = await readFlight(pathB, also, order.settings?.b ?? null)
  const logs = { a: a.log.contentHash, b: b.log.contentHash }
  const noted = order.library === null ? null : pilotNotes(order.library, [logs.a, logs.b])
  const glossary = glossaryOf(order.glossary, noted)
  const hasSettings = a.settings.length > 0 && b.settings.length > 0
  const alignment = alignFlights({ a: alignable(a.signals), b: alignable(b.signals) })
  const { offset_s } = alignment
  const common = commonSpan(a.signals, b.signals, offset_s)
  const span = common && (order.span ?? common)
  const measures = span && measureSpan(a.signals, b.signals, offset_s, span.t0_s, span.t1_s)
  const repeat = order.repeat ? await readFlight(order.repeat.path, [], null) : null
  const verdict = compareFlights(
    a.signals,
    b.signals,
    {},
    repeat && order.repeat ? { signals: repeat.signals, of: order.repeat.of } : undefined,
  )
  const files: Files =
    span && measures
      ? await sharedFiles(
          {
            a,
            b,
            words: { a: wordsOf(a.log), b: wordsOf(b.log) },
            alignment,
            verdict,
            settings: hasSettings ? changedSettings(a.settings, b.settings) : null,
            offset_s,
            ...span,
            measures,
            lanes: {
              a: perAxis((axis) => spectrogramLane(a.signals, axis, span.t0_s, span.t1_s, LANE_COLUMNS)),
              b: perAxis((axis) =>
                spectrogramLane(b.signals, axis, span.t0_s - offset_s, span.t1_s - offset_s, LANE_COLUMNS),
              ),
            },
          },
          order,
        )
      : new Map()
  const excerpt = order.excerpt && excerptFiles(a, b, offset_s, order.excerpt)
  for (const [name, content] of excerpt?.files ?? []) files.set(name, content)
  if (noted && order.card)
    for (const [name, content] of await cardFiles(noted, logs, verdict, order.theme)) files.set(name, content)
  const report = v.parse(reportSchema, {
    format: REPORT_FORMAT,
    program: 'Twopack',
    flights: { a: flightReport(a.log, a.signals), b: flightReport(b.log, b.signals) },
    alignment: {
      offset_s,
      by: alignment.by,
      sure: alignment.sure,
      correlation: Number.isNaN(alignment.r) ? null : alignment.r,
      sentence: alignmentSentence(alignment, offset_s),
    },
    span,
    measures: measures ? measuresOf(measures) : [],
    response: span && responseReport(a, b, offset_s, span),
    verdict: verdictReport(verdict, repeat?.log.fileName ?? null),
    settings: hasSettings ? settingsReport(a, b, glossary) : null,
    noted: noted && notesReport(noted, logs),
    cautions: cautionsOf(measures, alignment.sure),
    picture: files.has('comparison.png') ? 'comparison.png' : null,
    files: ['report.json', ...files.keys()],
  } satisfies Report)
  files.set('report.json', `${JSON.stringify(report, null, 2)}\n`)
  await writeOut(out, files)
  return { ...report, notes: excerpt?.notes ?? [] }
}

async function readFlight(
  path: string,
  also: readonly string[],
  sheet: string | null,
): Promise<ReportFlight> {
  const folder = await mkdtemp(join(tmpdir(), 'twopack-report-'))
  try {
    const columnFile = join(folder, 'columns')
    const log = await readLog(path, { columnFile })
    const columns = new Map<number, RawColumn>()
    for (const { column } of log.assignments) {
      if (!columns.has(column)) columns.set(column, await readColumnValues(columnFile, log.layout, column))
    }
    const raw = new Map<number, RawColumn>()
    for (const { source } of chosenColumns(log, also)) {
      if ('column' in source)
        raw.set(source.column, await readColumnValues(columnFile, log.layout, source.column))
    }
    return {
      log,
      raw,
      ...(sheet === null ? await settingsOf(path, log) : sheetOf(sheet)),
      ...prepareFlight(log.assignments, columns, false),
    }
  } finally {
    await rm(folder, { recursive: true, force: true })
  }
}

async function settingsOf(path: string, { preamble }: ReadLog): Promise<ReportSheet> {
  const { settings, sheet } = sheetOfFlight({ settings: await settingsBeside(path), preamble })
  return { settings, unread: sheet?.unread ?? [] }
}

/** The library's glossary, with what the given text says of the same names in its place. */
function glossaryOf(text: string | null, noted: PilotNotes | null): Glossary {
  const given = text === null ? null : readGlossary(text)
  const [fault] = given?.faults ?? []
  if (fault !== undefined) throw new Problem('bad-request', `The glossary does not fit: ${fault}`)
  const byPattern = new Map(
    [...(noted?.glossary ?? []), ...(given?.glossary ?? [])].map((entry) => [entry.pattern, entry]),
  )
  return [...byPattern.values()]
}

function measuresOf({ a, b }: SpanMeasures): Report['measures'] {
  const names = {
    trackingRms_dps: 'tracking error RMS',
    lag_ms: 'lag',
    gyroRms_dps: 'gyro RMS',
  } as const
  return MEASURES.flatMap(({ key, unit, better }) =>
    AXES.map((axis) => {
      const before = a[axis][key]
      const after = b[axis][key]
      const difference = before.value === null || after.value === null ? null : after.value - before.value
      return { measure: names[key], axis, unit, a: before, b: after, difference, better }
    }),
  )
}

function cautionsOf(measures: SpanMeasures | null, sure: Report['alignment']['sure']): string[] {
  const cautions: string[] = []
  if (!measures) cautions.push('The flights do not overlap at the best offset: nothing is compared.')
  if (sure === 'guess' || sure === 'none') cautions.push('How B lies over A is not sure.')
  const flying = measures && flyingCaution(measures)
  if (flying) cautions.push(flying)
  cautions.push('Two flights are one observation of each tune: a difference is not yet a verdict.')
  cautions.push('A log shows what was recorded, not that a craft is airworthy.')
  return cautions
}

const wordsOf = (log: ReadLog) => ({ name: basename(log.fileName), craft: '', date: null })

async function writeOut(out: string, files: Files): Promise<void> {
  try {
    await mkdir(out, { recursive: true })
    for (const [name, content] of files) await writeFile(join(out, name), content)
  } catch (error) {
    const reason = error instanceof Error ? error.message : String(error)
    throw new Problem('disk', `The report could not be written to ${out}: ${reason}`, {}, error)
  }
}
