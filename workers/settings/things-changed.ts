import { AXES, type Axis } from '../flight/axes.ts'
import type { ChangedSetting, SheetComparison } from './compare-sheets.ts'
import { axisOfName, withoutAxis } from './names.ts'

/** A setting that exists on several axes, and what became of it on each. */
export interface Family {
  readonly family: string
  readonly members: ReadonlyMap<Axis, { readonly name: string; readonly change: ChangedSetting | null }>
}

/** Settings that exist on several axes, by what they set. */
export function families({ common, changed }: SheetComparison): Family[] {
  const byFamily = new Map<string, Map<Axis, { name: string; change: ChangedSetting | null }>>()
  for (const { name } of common) {
    const found = axisOfName(name)
    if (!found) continue
    const members = byFamily.get(found.family) ?? new Map()
    byFamily.set(found.family, members)
    members.set(found.axis, { name, change: changed.find((one) => one.name === name) ?? null })
  }
  return [...byFamily].map(([family, members]) => ({ family, members }))
}

/** One thing that was changed: a setting, or one that went the same way on several axes. */
export interface ThingChanged {
  readonly words: string
  readonly names: readonly string[]
}

/** What was changed, the same change on several axes taken as one; numbers given with it. */
export function thingsChanged(comparison: SheetComparison): ThingChanged[] {
  const things: ThingChanged[] = []
  const used = new Set<string>()
  for (const { family, members } of families(comparison)) {
    const changes = AXES.flatMap((axis) => {
      const change = members.get(axis)?.change
      return change ? [{ axis, change }] : []
    })
    if (changes.length < 2 || !goTogether(changes.map(({ change }) => change))) continue
    const names = changes.map(({ change }) => change.name)
    for (const name of names) used.add(name)
    const values = new Set(changes.map(({ change: { a, b } }) => `${a} → ${b}`))
    const ratio = changes[0]?.change.number?.ratio
    const how =
      values.size === 1
        ? [...values][0]
        : ratio
          ? `about × ${Number(ratio.toPrecision(3))}`
          : changes.map(({ axis, change: { a, b } }) => `${axis} ${a} → ${b}`).join(', ')
    const what = withoutAxis(names.at(-1) as string) || family
    things.push({ words: `${what} on ${changes.map(({ axis }) => axis).join(' and ')}: ${how}`, names })
  }
  for (const { name, a, b } of comparison.changed)
    if (!used.has(name)) things.push({ words: `${name}: ${a} → ${b}`, names: [name] })
  for (const { name, value } of comparison.added)
    things.push({ words: `${name} = ${value} added`, names: [name] })
  for (const { name } of comparison.removed) things.push({ words: `${name} removed`, names: [name] })
  return things
}

/** The same way on all axes: to the same value, or by about the same ratio, or else in the same direction. */
function goTogether(changes: readonly ChangedSetting[]): boolean {
  if (new Set(changes.map(({ b }) => b)).size === 1) return true
  return new Set(changes.map(({ number }) => (number ? Math.sign(number.difference) : NaN))).size === 1
}
