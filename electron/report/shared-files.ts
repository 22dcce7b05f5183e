import { gzipSync } from 'node:zlib'
import { buildPicture, type PictureRequest } from '../../workers/comparison/build-picture.ts'
import type { ReadLog } from '../../workers/log/log.ts'
import type { FlightSignals, RawColumn } from '../../workers/flight/signals.ts'
import { Problem } from '../../workers/log/problems.ts'
import { pictureSize } from '../../workers/picture/compose.ts'
import type { ComparisonPicture } from '../../workers/picture/model.ts'
import { buildDocument } from '../../workers/share/build-document.ts'
import {
  excerptColumns,
  excerptCsv,
  excerptLeavesOut,
  type ExcerptColumn,
} from '../../workers/share/excerpt.ts'
import { markdown } from '../../workers/share/markdown.ts'
import { altOf, htmlPage } from '../../workers/share/page.ts'
import { plainText } from '../../workers/share/plain-text.ts'
import type { ExcerptOrder, ReportFormat, ReportOrder } from './arguments.ts'
import { drawComparisonPng, drawComparisonSvg } from './node-picture.ts'

/** Files to be written, by name, in the order in which they are told. */
export type Files = Map<string, Uint8Array | string>

/** The comparison in each of the wanted forms. @throws Error as composeComparison does */
export async function sharedFiles(
  request: Omit<PictureRequest, 'title' | 'note' | 'theme' | 'width_px' | 'parts'>,
  order: ReportOrder,
): Promise<Files> {
  const { title, note, theme, width_px, parts, names } = order
  const model = buildPicture({
    ...request,
    ...{ title, note, theme, width_px },
    parts: { ...parts, names },
  })
  const verdict = parts.verdict ? (request.verdict ?? null) : null
  const forms: Record<ReportFormat, () => Promise<Uint8Array | string> | string> = {
    png: () => drawComparisonPng(model),
    svg: () => drawComparisonSvg(model),
    md: () => markdown(buildDocument(model, verdict, 'short')),
    txt: () => plainText(buildDocument(model, verdict, 'short')),
    html: async () => htmlPage(buildDocument(model, verdict, 'whole'), await pagePicture(model)),
  }
  const files: Files = new Map()
  for (const format of order.formats) files.set(`comparison.${format}`, await forms[format]())
  return files
}

async function pagePicture(model: ComparisonPicture) {
  const { width_px, height_px } = pictureSize(model)
  return {
    light: await drawComparisonPng({ ...model, theme: 'light' }),
    dark: await drawComparisonPng({ ...model, theme: 'dark' }),
    ...{ width_px, height_px },
    alt: altOf(model.title),
  }
}

/** What an excerpt is cut from. */
export interface ExcerptSource {
  readonly log: ReadLog
  readonly signals: FlightSignals
  /** Columns without a meaning that were asked for, by their index. */
  readonly raw: ReadonlyMap<number, RawColumn>
}

/** The columns of a log that an excerpt takes: the usual ones, and those that were asked for by name. */
export function chosenColumns(log: ReadLog, also: readonly string[]): ExcerptColumn[] {
  const all = excerptColumns(log.columns, log.assignments)
  const asked = log.columns.filter(({ name }) => also.includes(name)).map(({ index }) => index)
  return all.filter(({ usual, source }) => usual || ('column' in source && asked.includes(source.column)))
}

/**
 * Both excerpts, and in words what stays out of them.
 * @throws Problem bad-request for a column that neither log has, too-short, too-large
 */
export function excerptFiles(
  a: ExcerptSource,
  b: ExcerptSource,
  offset_s: number,
  { t0_s, t1_s, also, gzip }: ExcerptOrder,
): { readonly files: Files; readonly notes: readonly string[] } {
  const names = new Set([...a.log.columns, ...b.log.columns].map(({ name }) => name))
  const unknown = also.find((name) => !names.has(name))
  if (unknown !== undefined) throw new Problem('bad-request', `Neither log has a column "${unknown}".`)
  const files: Files = new Map()
  const notes: string[] = []
  for (const [side, { log, signals, raw }, shift_s] of [
    ['a', a, 0],
    ['b', b, offset_s],
  ] as const) {
    const columns = chosenColumns(log, also)
    const pieces = excerptCsv({ signals, columns, raw, t0_s: t0_s - shift_s, t1_s: t1_s - shift_s })
    const csv = Buffer.from([...pieces].join(''))
    files.set(`excerpt-${side}.csv${gzip ? '.gz' : ''}`, gzip ? gzipSync(csv) : csv)
    const out = excerptLeavesOut(excerptColumns(log.columns, log.assignments), columns)
    notes.push(`Left out of excerpt ${side.toUpperCase()}: ${out.join(' ')}`)
  }
  return { files, notes }
}
