import { filtersInSheet, type SheetFilter } from '../signal/sheet-filters.ts'
import { AXES } from '../flight/axes.ts'
import type { ChangedSetting, SheetComparison } from './compare-sheets.ts'
import { entryFor, outOfRange, type Glossary } from './glossary.ts'
import { gainOfName, isGainName, keyOfName, withoutAxis } from './names.ts'
import { families, thingsChanged } from './things-changed.ts'
import { readValue } from './values.ts'

/** Something about a change of settings that a pilot should look at before flying it, known from the text alone. */
export interface SheetWarning {
  readonly kind:
    | 'jump'
    | 'unit'
    | 'zero gain'
    | 'sign'
    | 'axis left out'
    | 'several changes'
    | 'out of range'
    | 'higher D'
    | 'filter opened'
    | 'lower idle'
  /** 'caution': flying it may hurt someone or something; 'check': probably a slip; 'note': good to know. */
  readonly level: 'caution' | 'check' | 'note'
  /** The settings it is about, as B's sheet (or A's, where it is gone) writes them. */
  readonly names: readonly string[]
  readonly sentence: string
  /** Why it is said. */
  readonly reason: string
  readonly standing: 'common practice, no source' | 'your glossary'
}

/** A jump of at least this is looked at. Common practice, no source. */
export const JUMP = 10
const FEEL_MOTORS = 'Hover briefly, land, and feel the motors before flying on: hot motors mean go back.'

const ORDER = ['caution', 'check', 'note']

/**
 * Looks through what changed between two sheets. It needs no knowledge of any program: names are read by the words of the
 * trade, values by their size. The gravest come first.
 */
export function warningsFor(comparison: SheetComparison, glossary: Glossary = []): SheetWarning[] {
  const warnings = [
    ...comparison.changed.flatMap(singleWarnings),
    ...filtersOpened(comparison),
    ...rangeWarnings(comparison, glossary),
    ...axesLeftOut(comparison),
    ...severalChanges(comparison),
  ]
  return warnings.sort((a, b) => ORDER.indexOf(a.level) - ORDER.indexOf(b.level))
}

const practice = (
  kind: SheetWarning['kind'],
  level: SheetWarning['level'],
  names: readonly string[],
  sentence: string,
  reason: string,
): SheetWarning => ({ kind, level, names, sentence, reason, standing: 'common practice, no source' })

function singleWarnings(change: ChangedSetting): SheetWarning[] {
  const { name, a, b, number } = change
  const turnedOff = readValue(b)
  if (!number) {
    const wasNumber = readValue(a)
    if (
      isGainName(name) &&
      wasNumber.kind === 'number' &&
      wasNumber.number !== 0 &&
      turnedOff.kind === 'switch' &&
      !turnedOff.on
    )
      return [zeroGain(name, a)]
    return []
  }
  const warnings: SheetWarning[] = []
  const { ratio } = number
  if (number.unitA !== number.unitB && number.unitA !== '' && number.unitB !== '')
    warnings.push(
      practice(
        'unit',
        'check',
        [name],
        `${name} is given in ${number.unitB} now; it was in ${number.unitA} (${a} before, ${b} after).`,
        'The same number in another unit is another setting.',
      ),
    )
  else if (ratio !== null && ratio !== 0 && (Math.abs(ratio) >= JUMP || Math.abs(ratio) <= 1 / JUMP))
    warnings.push(jump(change, ratio))
  if (number.a * number.b < 0)
    warnings.push(
      practice(
        'sign',
        'caution',
        [name],
        `${name} changed its sign (${a} before, ${b} after).`,
        'A turned sign can turn a correction into its opposite: props off, check on the bench which way it acts.',
      ),
    )
  if (number.b === 0 && number.a !== 0 && isGainName(name)) warnings.push(zeroGain(name, a))
  if (gainOfName(name) === 'd' && Math.abs(number.b) > Math.abs(number.a))
    warnings.push(
      practice(
        'higher D',
        'caution',
        [name],
        `${name} was raised (${a} to ${b}). ${FEEL_MOTORS}`,
        'D amplifies noise, and noise heats motors.',
      ),
    )
  if (/\bidle\b/.test(keyOfName(name)) && number.b < number.a)
    warnings.push(
      practice(
        'lower idle',
        'caution',
        [name],
        `${name} was lowered (${a} to ${b}): a motor may stall or lose its step in the air. Try it low and over nothing that matters.`,
        'Slow motors are started and held in step less surely.',
      ),
    )
  return warnings
}

const zeroGain = (name: string, before: string) =>
  practice(
    'zero gain',
    'caution',
    [name],
    `${name} was set to zero (it was ${before}). Was that meant? Props off while you check.`,
    'A gain of zero takes that part of the controller out; an axis may no longer hold.',
  )

function jump({ name, a, b }: ChangedSetting, ratio: number): SheetWarning {
  const times = Math.abs(ratio) >= 1 ? Math.abs(ratio) : 1 / Math.abs(ratio)
  const way = Math.abs(ratio) >= 1 ? 'up' : 'down'
  const power = Math.log10(times)
  const isScale = Math.abs(power - Math.round(power)) < 0.02
  return practice(
    'jump',
    'caution',
    [name],
    `${name} jumps ${Number(times.toPrecision(3))} times ${way}, from ${a} to ${b}.${
      isScale ? ' Was it entered in another unit?' : ''
    }`,
    'Settings are usually moved by a tenth or a half. An idle speed entered as 2000 where the unit is hundreds of rpm is such a slip: check the unit with props off.',
  )
}

/** Low-passes raised or gone, notches gone: more noise reaches the motors. */
function filtersOpened({ common, added, removed }: SheetComparison): SheetWarning[] {
  const before = filtersInSheet([
    ...common.map(({ name, a }) => ({ name, value: a })),
    ...removed.map(({ name, value }) => ({ name, value })),
  ])
  const after = filtersInSheet([
    ...common.map(({ name, b }) => ({ name, value: b })),
    ...added.map(({ name, value }) => ({ name, value })),
  ])
  const keyOf = ({ place, kind }: SheetFilter) => `${keyOfName(place)} ${kind}`
  const warnings: SheetWarning[] = []
  const left = [...after]
  for (const filter of before) {
    const same = left.filter((other) => keyOf(other) === keyOf(filter))
    // Several notches of one place are told apart by their frequency.
    const partner = same.sort((x, y) => Math.abs(x.f_hz - filter.f_hz) - Math.abs(y.f_hz - filter.f_hz))[0]
    if (partner) left.splice(left.indexOf(partner), 1)
    const words = `${filter.place} ${filter.kind}`.trim()
    const opened = !partner
      ? `The ${words} at ${filter.f_hz} Hz is gone or off.`
      : filter.kind === 'low-pass' && partner.f_hz > filter.f_hz
        ? `The ${words} was opened from ${filter.f_hz} to ${partner.f_hz} Hz.`
        : filter.kind === 'low-pass' && partner.order < filter.order
          ? `The ${words} went from order ${filter.order} to ${partner.order}.`
          : null
    if (opened)
      warnings.push(
        practice(
          'filter opened',
          'caution',
          [words],
          `${opened} ${FEEL_MOTORS}`,
          'More noise reaches the motors through an open filter.',
        ),
      )
  }
  return warnings
}

function rangeWarnings({ common, added }: SheetComparison, glossary: Glossary): SheetWarning[] {
  if (glossary.length === 0) return []
  const after = [...common.map(({ name, b }) => ({ name, value: b })), ...added]
  return after.flatMap(({ name, value }): SheetWarning[] => {
    const entry = entryFor(glossary, name)
    const outside = entry && outOfRange(entry, value)
    if (!entry || !outside) return []
    return [
      {
        kind: 'out of range',
        level: 'caution',
        names: [name],
        sentence: `${name} = ${value} is ${outside}.`,
        reason: entry.meaning ? `You noted: ${entry.meaning}.` : 'You noted this range.',
        standing: 'your glossary',
      },
    ]
  })
}

function axesLeftOut(comparison: SheetComparison): SheetWarning[] {
  return families(comparison).flatMap(({ family, members }): SheetWarning[] => {
    const changed = AXES.filter((axis) => members.get(axis)?.change)
    const left = AXES.filter((axis) => members.get(axis)?.change === null)
    if (changed.length === 0 || left.length === 0) return []
    const names = changed.map((axis) => members.get(axis)?.name as string)
    const what = withoutAxis(names.at(-1) as string) || family || 'A setting'
    if (changed.length === 2)
      return [
        practice(
          'axis left out',
          left[0] === 'yaw' ? 'note' : 'check',
          names,
          `${what} was changed on ${changed.join(' and ')}, not on ${left.join(' and ')}. Was that meant?`,
          left[0] === 'yaw'
            ? 'Yaw is often left as it is on purpose, and as often forgotten.'
            : 'Roll and pitch usually go together.',
        ),
      ]
    if (changed[0] === 'yaw') return []
    const other = changed[0] === 'roll' ? 'pitch' : 'roll'
    if (!left.includes(other)) return []
    return [
      practice(
        'axis left out',
        'note',
        names,
        `${what} was changed on ${changed[0]} alone, not on ${other}. Was that meant?`,
        'Roll and pitch usually go together, though a long or short craft may want them unlike.',
      ),
    ]
  })
}

function severalChanges(comparison: SheetComparison): SheetWarning[] {
  const things = thingsChanged(comparison)
  if (things.length < 2) return []
  const shown = things.slice(0, 6).map(({ words }) => words)
  const rest = things.length > shown.length ? ` and ${things.length - shown.length} more` : ''
  return [
    practice(
      'several changes',
      'check',
      things.flatMap(({ names }) => names),
      `${things.length} things were changed at once (${shown.join('; ')}${rest}): whatever the flights differ by can't be put down to one of them.`,
      'Change one thing at a time, and keep a copy of the old settings.',
    ),
  ]
}
