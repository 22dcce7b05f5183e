import type { Axis } from '../flight/axes.ts'
import { flightFacts, spanSentence } from '../picture/header.ts'
import type { ComparisonPicture, MeasureCell, PictureMeasure } from '../picture/model.ts'
import { differenceText, shownAxes } from '../picture/table.ts'
import { formatFixed, formatSigned } from '../ticks/ticks.ts'
import type { Comparison as Verdict } from '../verdict/comparison.ts'
import { VERDICT_MEASURES } from '../verdict/measures.ts'
import type { Block, ShareDocument, TableBlock } from './document.ts'
import { FLYING_CARE } from '../picture/model.ts'

/** How much is told: what stands on the picture, or everything that the verdict rests on. */
export type Detail = 'short' | 'whole'

/** Pairs that a table lists at most. */
const MOST_PAIRS = 60

/**
 * A comparison in words and tables: the same numbers and sentences as the picture's, and with `whole` the reading,
 * every measure, the pairs, how alike the flying was and the methods.
 * @param verdict null where it was not chosen or is not known
 */
export function buildDocument(
  model: ComparisonPicture,
  verdict: Verdict | null,
  detail: Detail,
): ShareDocument {
  const whole = detail === 'whole' && verdict !== null
  return {
    title: model.title,
    blocks: [
      ...(model.headlines ?? []).map((text): Block => ({ kind: 'paragraph', text, tone: 'lead' })),
      ...paragraphs([model.note ?? '']),
      flightTable(model),
      ...paragraphs([spanSentence(model)]),
      { kind: 'picture' },
      ...(verdict && whole ? reading(verdict) : []),
      ...settingsTable(model),
      ...measureTables(whole ? withoutVerdict(model) : model),
      ...(verdict && whole ? verdictTables(verdict, model) : []),
      ...section(
        'What to keep in mind',
        model.notices.map(({ text }) => text),
      ),
      ...section('What is not in it', model.footer.leftOut),
      ...section('Before you fly on it', [...FLYING_CARE, model.footer.caution], 'care'),
      ...paragraphs([
        `Made with ${model.footer.program}${whole ? `, comparison method ${verdict.method.id} ${verdict.method.version}` : ''}.`,
      ]),
    ],
  }
}

const heading = (text: string): Block => ({ kind: 'heading', text })

function paragraphs(texts: readonly string[], tone: 'plain' | 'care' = 'plain'): Block[] {
  return texts.filter((text) => text.trim() !== '').map((text) => ({ kind: 'paragraph', text, tone }))
}

function section(title: string, items: readonly string[], tone: 'plain' | 'care' = 'plain'): Block[] {
  if (items.length === 0) return []
  return [
    heading(title),
    ...(tone === 'care' ? paragraphs([items.join(' ')], tone) : [{ kind: 'list', items } as const]),
  ]
}

function flightTable({ a, b }: ComparisonPicture): TableBlock {
  const named = a.name !== '' || b.name !== ''
  const row = (flight: ComparisonPicture['a']) => [
    flight.label,
    ...(named ? [flight.name || '–'] : []),
    flightFacts(flight),
  ]
  return {
    kind: 'table',
    caption: 'The two flights',
    head: ['Flight', ...(named ? ['Name'] : []), 'Log'],
    rows: [row(a), row(b)],
    numbers: [],
  }
}

function settingsTable({ settings = [] }: ComparisonPicture): Block[] {
  if (settings.length === 0) return []
  return [
    heading('Settings that differ'),
    {
      kind: 'table',
      caption: 'Settings that differ',
      head: ['Setting', 'A', 'B'],
      rows: settings.map(({ name, a, b }) => [name, a ?? '(none)', b ?? '(none)']),
      numbers: [1, 2],
    },
  ]
}

const withoutVerdict = (model: ComparisonPicture): ComparisonPicture => ({
  ...model,
  measures: model.measures.filter((measure) => measure.cells.roll?.word === undefined && !hasWord(measure)),
})

const hasWord = ({ cells }: PictureMeasure): boolean =>
  Object.values(cells).some((cell) => cell.word !== undefined)

/** The picture's tables, one for each kind of number. */
function measureTables(model: ComparisonPicture): Block[] {
  const kinds = [...Map.groupBy(model.measures, (measure) => measure.of ?? 'Measures over the shown span')]
  const axes = shownAxes(model)
  if (axes.length === 0) return []
  return kinds.flatMap(([of, measures]): Block[] => {
    const judged = measures.some(hasWord)
    const head = ['Measure', 'Axis', 'A', 'B', 'B − A', ...(judged ? ['Interval', 'Verdict', 'Pairs'] : [])]
    const reasons = measures.flatMap((measure) => axes.map((axis) => measure.cells[axis]?.reason ?? ''))
    return [
      heading(of),
      {
        kind: 'table',
        caption: of,
        head,
        rows: measures.flatMap((measure) => axes.map((axis) => measureRow(measure, axis, judged))),
        numbers: [2, 3, 4, ...(judged ? [5, 7] : [])],
      },
      ...listOf([...new Set(reasons)].filter((reason) => reason !== '')),
    ]
  })
}

const listOf = (items: readonly string[]): Block[] => (items.length === 0 ? [] : [{ kind: 'list', items }])

const AIM = { lower: ', lower is better', higher: ', higher is better', neither: '' } as const

function measureRow(measure: PictureMeasure, axis: Axis, judged: boolean): string[] {
  const { label, unit, digits, better } = measure
  const cell: MeasureCell = measure.cells[axis] ?? { a: null, b: null, difference: null }
  const number = (value: number | null) => (value === null ? '–' : formatFixed(value, digits))
  const evidence = judged
    ? [
        cell.interval ? intervalText(cell.interval.low, cell.interval.high, digits) : '–',
        cell.word ?? '–',
        String(cell.pairs ?? '–'),
      ]
    : []
  const name = `${label}${unit ? `, ${unit}` : ''}${AIM[better]}`
  return [name, axis, number(cell.a), number(cell.b), differenceText(measure, cell), ...evidence]
}

const intervalText = (low: number, high: number, digits: number): string =>
  `${formatSigned(low, digits)} to ${formatSigned(high, digits)}`

function reading({ reading: sentences }: Verdict): Block[] {
  if (sentences.length === 0) return []
  const items = sentences.map(({ sentence, standing, caution }) =>
    [sentence, standing === 'common practice' ? '(Common practice, not measured.)' : '', caution ?? '']
      .filter((part) => part !== '')
      .join(' '),
  )
  return [heading('How to read it'), { kind: 'list', items }]
}

/** Everything that the verdict rests on. */
function verdictTables(verdict: Verdict, model: ComparisonPicture): Block[] {
  const axes = shownAxes(model)
  const shown = (axis: Axis | null) => axis === null || axes.includes(axis)
  const measures = verdict.measures.filter(({ axis }) => shown(axis))
  const pairs = verdict.pairs.filter(({ axis }) => shown(axis))
  const balance = verdict.balance.filter(({ axis }) => shown(axis))
  return [
    ...verdictTable(
      'Headline measures, declared before looking',
      measures.filter(({ headline }) => headline),
    ),
    ...verdictTable(
      'All other measures',
      measures.filter(({ headline }) => !headline),
    ),
    ...balanceTable(balance),
    ...pairTable(pairs),
  ]
}

function verdictTable(caption: string, measures: Verdict['measures']): Block[] {
  if (measures.length === 0) return []
  const number = (value: number | null, digits: number) => (value === null ? '–' : formatFixed(value, digits))
  return [
    heading(caption),
    {
      kind: 'table',
      caption,
      head: [
        'Measure',
        'Axis',
        'A',
        'B',
        'B − A',
        '95 % interval',
        'Matters from',
        'Verdict',
        'Pairs',
        'Why',
      ],
      rows: measures.map((row) => [
        `${row.label}${row.unit ? `, ${row.unit}` : ''}${AIM[row.good]}`,
        row.axis ?? 'craft',
        number(row.a, row.digits),
        number(row.b, row.digits),
        row.effect === null ? '–' : formatSigned(row.effect, row.digits),
        row.interval ? intervalText(row.interval.low, row.interval.high, row.digits) : '–',
        formatFixed(row.delta, row.digits),
        row.word,
        row.pairsNeeded === null ? String(row.pairs) : `${row.pairs}, about ${row.pairsNeeded} needed`,
        whyOf(row),
      ]),
      numbers: [2, 3, 4, 5, 6, 8],
    },
  ]
}

/** The reason and what else is to be known, each once: both flights may give the same caution. */
const whyOf = ({ reason, cautions }: Verdict['measures'][number]): string =>
  [reason, ...new Set(cautions.filter((caution) => !reason.includes(caution)))].join(' ')

function balanceTable(balance: Verdict['balance']): Block[] {
  if (balance.length === 0) return []
  const digits = (value: number) => (Math.abs(value) >= 100 ? 0 : Math.abs(value) >= 1 ? 1 : 2)
  const apart = (value: number) => (Number.isFinite(value) ? formatSigned(value, 2) : '–')
  const number = (value: number) => (Number.isFinite(value) ? formatFixed(value, digits(value)) : '–')
  return [
    heading('How alike the flying was'),
    {
      kind: 'table',
      caption: 'How alike the flying was; apart in standard deviations, below 0.1 counts as alike',
      head: ['Flown input', 'Axis', 'A', 'B', 'Apart, all', 'Apart, paired'],
      rows: balance.map(({ axis, input, unit, before, after }) => [
        `${input}${unit ? `, ${unit}` : ''}`,
        axis ?? 'craft',
        number(before.a),
        number(before.b),
        apart(before.standardisedDifference),
        after ? apart(after.standardisedDifference) : '–',
      ]),
      numbers: [2, 3, 4, 5],
    },
  ]
}

/** A measure's name within a sentence: 'tracking error, RMS'. */
const midSentence = (label: string): string => `${label.charAt(0).toLowerCase()}${label.slice(1)}`

function pairTable(pairs: Verdict['pairs']): Block[] {
  if (pairs.length === 0) return []
  const shown = pairs.slice(0, MOST_PAIRS)
  const differences = (pair: Verdict['pairs'][number]) =>
    pair.differences
      .flatMap(({ key, difference }) => {
        const facts = VERDICT_MEASURES[key.split('.')[0] as keyof typeof VERDICT_MEASURES]
        return facts.headline
          ? [`${midSentence(facts.label)} ${formatSigned(difference, facts.digits)} ${facts.unit}`]
          : []
      })
      .join('; ')
  return [
    heading('Pairs of like manoeuvres, largest difference first'),
    {
      kind: 'table',
      caption: 'Pairs of like manoeuvres',
      head: ['Manoeuvre', 'A at, s', 'B at, s', 'B − A', 'Why a pair'],
      rows: shown.map((pair) => [
        pair.name,
        pair.a.split('@')[1] ?? '–',
        pair.b.split('@')[1] ?? '–',
        differences(pair),
        pair.reason,
      ]),
      numbers: [1, 2],
    },
    ...(pairs.length > MOST_PAIRS
      ? paragraphs([`The first ${MOST_PAIRS} of ${pairs.length} pairs are listed.`])
      : []),
  ]
}
