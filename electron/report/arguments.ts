import { parseArgs } from 'node:util'
import { USUAL_PARTS, USUAL_TITLE, type PictureParts } from '../../workers/comparison/picture-parts.ts'
import { AXES } from '../../workers/flight/axes.ts'
import { Problem } from '../../workers/log/problems.ts'
import type { PictureTheme } from '../../workers/picture/model.ts'

/** What can be written beside report.json. */
export const FORMATS = ['png', 'svg', 'md', 'txt', 'html'] as const
export type ReportFormat = (typeof FORMATS)[number]

/** A part of A's clock to be written as CSV of both flights. */
export interface ExcerptOrder {
  readonly t0_s: number
  readonly t1_s: number
  /** Columns beside the usual ones, by their name in the log. */
  readonly also: readonly string[]
  readonly gzip: boolean
}

/** How a report is to be made. */
export interface ReportOrder {
  readonly formats: readonly ReportFormat[]
  readonly title: string
  readonly note: string
  readonly theme: PictureTheme
  readonly width_px: number
  /** Whether file names stand on what is written for others. */
  readonly names: boolean
  /** What is shown of A's clock; null for all that both flights have. */
  readonly span: { readonly t0_s: number; readonly t1_s: number } | null
  /** What is on picture and text; file names are `names`' own business. */
  readonly parts: PictureParts
  /** The program's data folder whose moments, changes and glossary are taken in; null for none. */
  readonly library: string | null
  /** Whether the field card is written. */
  readonly card: boolean
  /** A glossary as text; null where none was given. */
  readonly glossary: string | null
  /** Settings sheets of A and B as text; null takes what stands beside the logs or above their tables. */
  readonly settings: { readonly a: string; readonly b: string } | null
  readonly excerpt: ExcerptOrder | null
  /** Another log flown with the very settings of A or B: what they differ by is the floor of the verdict. */
  readonly repeat: RepeatOrder | null
}

export interface RepeatOrder {
  readonly path: string
  readonly of: 'a' | 'b'
}

/** What a report is without options: report.json and comparison.png. */
export const USUAL_REPORT: ReportOrder = {
  formats: ['png'],
  title: USUAL_TITLE,
  note: '',
  theme: 'light',
  width_px: 1200,
  names: false,
  parts: USUAL_PARTS,
  library: null,
  card: false,
  glossary: null,
  span: null,
  settings: null,
  excerpt: null,
  repeat: null,
}

export type ReportCommand =
  | { readonly what: 'help' }
  | {
      readonly what: 'report'
      readonly a: string
      readonly b: string
      readonly out: string
      /** `glossary` is the path of its file. */
      readonly order: Omit<ReportOrder, 'settings'>
      readonly sheets: { readonly a: string; readonly b: string } | null
    }

const OPTIONS = {
  out: { type: 'string' },
  formats: { type: 'string', default: 'png' },
  title: { type: 'string', default: USUAL_TITLE },
  note: { type: 'string', default: '' },
  theme: { type: 'string', default: 'light' },
  width: { type: 'string', default: '1200' },
  span: { type: 'string' },
  names: { type: 'boolean', default: false },
  with: { type: 'string', default: '' },
  without: { type: 'string', default: '' },
  library: { type: 'string' },
  card: { type: 'boolean', default: false },
  glossary: { type: 'string' },
  'settings-a': { type: 'string' },
  'settings-b': { type: 'string' },
  repeat: { type: 'string' },
  'repeat-of': { type: 'string' },
  excerpt: { type: 'string' },
  'excerpt-also': { type: 'string', multiple: true, default: [] as string[] },
  gzip: { type: 'boolean', default: false },
  help: { type: 'boolean', default: false },
} as const

/** Reads the command line. @throws Problem 'bad-request' naming what is wrong */
export function readReportArguments(args: readonly string[]): ReportCommand {
  const { values, positionals } = parse(args)
  if (values.help) return { what: 'help' }
  const [a, b] = positionals
  const { out } = values
  if (a === undefined || b === undefined || positionals.length !== 2 || out === undefined)
    throw bad('Two log files and a folder are needed: npm run report -- A.csv B.csv --out DIR')
  const excerptSpan = spanOf('excerpt', values.excerpt)
  if (!excerptSpan && (values['excerpt-also'].length > 0 || values.gzip))
    throw bad('--excerpt-also and --gzip belong to an excerpt: give its span by --excerpt FROM:TO.')
  if (values.card && values.library === undefined)
    throw bad('--card needs the moments that you marked: give the data folder by --library DIR.')
  const sheetA = values['settings-a']
  const sheetB = values['settings-b']
  if ((sheetA === undefined) !== (sheetB === undefined))
    throw bad('Settings are compared between A and B: --settings-a and --settings-b belong together.')
  return {
    what: 'report',
    a,
    b,
    out,
    sheets: sheetA !== undefined && sheetB !== undefined ? { a: sheetA, b: sheetB } : null,
    order: {
      formats: formatsOf(values.formats),
      title: values.title,
      note: values.note,
      theme: themeOf(values.theme),
      width_px: widthOf(values.width),
      names: values.names,
      parts: partsOf(values.with, values.without),
      library: values.library ?? null,
      card: values.card,
      glossary: values.glossary ?? null,
      span: spanOf('span', values.span),
      repeat: repeatOf(values.repeat, values['repeat-of']),
      excerpt: excerptSpan && { ...excerptSpan, also: values['excerpt-also'], gzip: values.gzip },
    },
  }
}

function parse(args: readonly string[]) {
  try {
    return parseArgs({ args: [...args], options: OPTIONS, strict: true, allowPositionals: true })
  } catch (error) {
    // Node's own sentence names the option that it does not know.
    throw bad(error instanceof Error ? error.message : String(error))
  }
}

function formatsOf(list: string): ReportFormat[] {
  if (list === 'all') return [...FORMATS]
  if (list === 'none') return []
  const wanted = list.split(',').map((name) => name.trim())
  const unknown = wanted.find((name) => !FORMATS.includes(name as ReportFormat))
  if (unknown !== undefined)
    throw bad(`formats has "${unknown}"; it takes ${FORMATS.join(', ')}, or all, or none.`)
  return FORMATS.filter((format) => wanted.includes(format))
}

/** What may be left out of picture and text, or put on them. */
export const PARTS = [
  ...AXES,
  'throttle',
  'motors',
  'spectrograms',
  'measures',
  'verdict',
  'settings',
] as const
type Part = (typeof PARTS)[number]

function partsOf(added: string, left: string): PictureParts {
  const on = { with: listed('with', added), without: listed('without', left) }
  const isOn = (part: Part, usual: boolean): boolean =>
    !on.without.includes(part) && (usual || on.with.includes(part))
  const axes = AXES.filter((axis) => isOn(axis, true))
  if (axes.length === 0) throw bad('without leaves no axis: a picture needs one at least.')
  return {
    ...USUAL_PARTS,
    axes,
    throttle: isOn('throttle', USUAL_PARTS.throttle),
    motors: isOn('motors', USUAL_PARTS.motors),
    spectrograms: isOn('spectrograms', USUAL_PARTS.spectrograms),
    measures: isOn('measures', USUAL_PARTS.measures),
    verdict: isOn('verdict', USUAL_PARTS.verdict),
    settings: isOn('settings', USUAL_PARTS.settings),
  }
}

function listed(option: string, list: string): Part[] {
  const names = list.split(',').map((name) => name.trim())
  return names.flatMap((name): Part[] => {
    if (name === '') return []
    const part = PARTS.find((part) => part === name)
    if (!part) throw bad(`${option} has "${name}"; it takes ${PARTS.join(', ')}.`)
    return [part]
  })
}

function themeOf(theme: string): PictureTheme {
  if (theme !== 'light' && theme !== 'dark') throw bad(`theme is "${theme}"; it must be light or dark.`)
  return theme
}

function widthOf(text: string): number {
  const width = Number(text)
  if (!Number.isInteger(width) || width < 900 || width > 2400)
    throw bad(`width is "${text}"; it must be a whole number of pixels from 900 to 2400.`)
  return width
}

function repeatOf(path: string | undefined, of = 'a'): RepeatOrder | null {
  if (of !== 'a' && of !== 'b') throw bad(`repeat-of is "${of}"; it must be a or b.`)
  return path === undefined ? null : { path, of }
}

/** 'FROM:TO' in seconds of A's clock. */
function spanOf(option: string, text: string | undefined): { t0_s: number; t1_s: number } | null {
  if (text === undefined) return null
  const [from = '', to = '', more] = text.split(':')
  const [t0_s, t1_s] = [from, to].map((part) => (part.trim() === '' ? NaN : Number(part))) as [number, number]
  if (more !== undefined || !Number.isFinite(t0_s) || !Number.isFinite(t1_s) || t0_s >= t1_s)
    throw bad(`${option} is "${text}"; it must be FROM:TO in seconds, like 12.5:14.`)
  return { t0_s, t1_s }
}

const bad = (sentence: string): Problem => new Problem('bad-request', sentence)
