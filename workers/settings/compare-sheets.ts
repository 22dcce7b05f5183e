import { axisOfName, isRecordName, keyOfName, wordsOfName } from './names.ts'
import type { Setting } from './sheet.ts'
import { readValue, sameValue } from './values.ts'

/** How a number changed. */
export interface NumberChange {
  readonly a: number
  readonly b: number
  /** b - a */
  readonly difference: number
  /** b / a; null when a is 0. */
  readonly ratio: number | null
  readonly unitA: string
  readonly unitB: string
}

/** How a list of numbers changed. */
export interface ListChange {
  /** The same numbers, in another order. */
  readonly orderOnly: boolean
  /** Places (from 1) at which the numbers differ, as far as both lists go. */
  readonly places: readonly number[]
  readonly lengthA: number
  readonly lengthB: number
}

export interface ChangedSetting {
  readonly kind: 'changed'
  /** As B writes it. */
  readonly name: string
  readonly group: string
  readonly a: string
  readonly b: string
  /** Null unless both are single numbers. */
  readonly number: NumberChange | null
  /** Null unless both are lists of numbers. */
  readonly list: ListChange | null
}

export interface OneSidedSetting {
  readonly kind: 'added' | 'removed'
  readonly name: string
  readonly group: string
  readonly value: string
}

/** What differs between the sheets of A and B. Swapping the sheets swaps added and removed, a and b. */
export interface SheetComparison {
  readonly changed: readonly ChangedSetting[]
  readonly added: readonly OneSidedSetting[]
  readonly removed: readonly OneSidedSetting[]
  /** Settings that say the same in both. */
  readonly unchanged: number
  /** Entries that differ but tell of the record, not of the craft: dates, flight numbers. */
  readonly record: readonly ChangedSetting[]
  /** The settings that stand in both, changed or not: what the warnings look through. */
  readonly common: readonly { readonly name: string; readonly a: string; readonly b: string }[]
}

/**
 * Compares two sheets by name: as written where both have the name so, else by the words of the name ("roll_p" meets
 * "Roll P") where those are nobody else's.
 */
export function compareSheets(a: readonly Setting[], b: readonly Setting[]): SheetComparison {
  const partners = pair(a, b)
  const paired = new Set(partners.values())
  const common = b.flatMap((after) => {
    const before = partners.get(after)
    return before ? [{ name: after.name, a: before.value, b: after.value }] : []
  })
  const oneSided = (kind: 'added' | 'removed', { name, value }: Setting): OneSidedSetting => ({
    kind,
    name,
    group: groupOf(name),
    value,
  })
  const differing = common.filter((one) => !sameValue(one.a, one.b)).map(changeOf)
  return {
    changed: differing.filter(({ name }) => !isRecordName(name)),
    record: differing.filter(({ name }) => isRecordName(name)),
    added: b
      .filter((one) => !partners.has(one) && !isRecordName(one.name))
      .map((one) => oneSided('added', one)),
    removed: a
      .filter((one) => !paired.has(one) && !isRecordName(one.name))
      .map((one) => oneSided('removed', one)),
    unchanged: common.length - differing.length,
    common,
  }
}

/** B's settings with A's that they are the same setting as. */
function pair(a: readonly Setting[], b: readonly Setting[]): Map<Setting, Setting> {
  const partners = new Map<Setting, Setting>()
  const byName = new Map(a.map((one) => [one.name, one]))
  for (const after of b) {
    const before = byName.get(after.name)
    if (before) partners.set(after, before)
  }
  const taken = new Set(partners.values())
  const leftA = byKey(a.filter((one) => !taken.has(one)))
  for (const [key, [after, another]] of byKey(b.filter((one) => !partners.has(one)))) {
    const [before, other] = leftA.get(key) ?? []
    if (after && before && !another && !other) partners.set(after, before)
  }
  return partners
}

function byKey(settings: readonly Setting[]): Map<string, Setting[]> {
  const groups = new Map<string, Setting[]>()
  for (const setting of settings) {
    // A name without a letter or digit has no words to go by.
    const key = keyOfName(setting.name) || setting.name
    groups.set(key, [...(groups.get(key) ?? []), setting])
  }
  return groups
}

function changeOf({ name, a, b }: { name: string; a: string; b: string }): ChangedSetting {
  return {
    kind: 'changed',
    name,
    group: groupOf(name),
    a,
    b,
    number: numberChange(a, b),
    list: listChange(a, b),
  }
}

function numberChange(a: string, b: string): NumberChange | null {
  const x = readValue(a)
  const y = readValue(b)
  if (x.kind !== 'number' || y.kind !== 'number') return null
  return {
    a: x.number,
    b: y.number,
    difference: y.number - x.number,
    ratio: x.number === 0 ? null : y.number / x.number,
    unitA: x.unit,
    unitB: y.unit,
  }
}

function listChange(a: string, b: string): ListChange | null {
  const x = readValue(a)
  const y = readValue(b)
  if (x.kind !== 'list' || y.kind !== 'list') return null
  const inOrder = (numbers: readonly number[]) => [...numbers].sort((one, other) => one - other)
  const [sortedA, sortedB] = [inOrder(x.numbers), inOrder(y.numbers)]
  const both = Math.min(x.numbers.length, y.numbers.length)
  return {
    orderOnly: sortedA.length === sortedB.length && sortedA.every((one, at) => one === sortedB[at]),
    places: Array.from({ length: both }, (_, at) => at + 1).filter(
      (place) => x.numbers[place - 1] !== y.numbers[place - 1],
    ),
    lengthA: x.numbers.length,
    lengthB: y.numbers.length,
  }
}

/**
 * Under what a setting is listed: its section or parents; else what is set, without the axis ("roll P" and "pitch P"
 * stand under "p"); else its first word.
 */
export function groupOf(name: string): string {
  const dot = name.lastIndexOf('.')
  if (dot > 0) return name.slice(0, dot)
  const axis = axisOfName(name)
  if (axis && axis.family !== '') return axis.family
  return wordsOfName(name)[0] ?? name
}

/** Added, removed and changed settings under their groups, in the order in which the groups first come. */
export function grouped(
  comparison: SheetComparison,
): { group: string; settings: (ChangedSetting | OneSidedSetting)[] }[] {
  const groups = new Map<string, (ChangedSetting | OneSidedSetting)[]>()
  for (const one of [...comparison.changed, ...comparison.added, ...comparison.removed])
    groups.set(one.group, [...(groups.get(one.group) ?? []), one])
  return [...groups].map(([group, settings]) => ({ group, settings }))
}

/** True when nothing differs that says something of the craft. */
export const isSame = ({ changed, added, removed }: SheetComparison): boolean =>
  changed.length + added.length + removed.length === 0
