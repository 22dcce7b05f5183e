import type { ChangedSetting, SheetComparison } from '../settings/compare-sheets.ts'
import { keyOfName } from '../settings/names.ts'
import { sameValue } from '../settings/values.ts'
import type { Change, ChangedValue, FlightOfChange } from './change.ts'

/** Changes in the order in which they were made. */
export function inOrder(changes: readonly Change[]): Change[] {
  return [...changes].sort((x, y) => x.madeAt_ms - y.madeAt_ms || (x.id < y.id ? -1 : 1))
}

/** What two sheets differ by, as a change keeps it. */
export function changedValues({ changed, added, removed }: SheetComparison): ChangedValue[] {
  return [
    ...changed.map(({ name, a, b }: ChangedSetting) => ({ name, a, b })),
    ...added.map(({ name, value }) => ({ name, a: null, b: value })),
    ...removed.map(({ name, value }) => ({ name, a: value, b: null })),
  ]
}

/** The newest change that is in force and that these settings turn back, all of it and nothing else; null when none. */
export function takenBackBy(trail: readonly Change[], settings: readonly ChangedValue[]): Change | null {
  if (settings.length === 0) return null
  const same = (x: string | null, y: string | null) => (x === null || y === null ? x === y : sameValue(x, y))
  const turnsBack = (change: Change) =>
    change.undone === null &&
    change.settings.length === settings.length &&
    change.settings.every((old) =>
      settings.some(
        (now) => keyOfName(now.name) === keyOfName(old.name) && same(now.a, old.b) && same(now.b, old.a),
      ),
    )
  return inOrder(trail).findLast(turnsBack) ?? null
}

/** The change that takes this one back and is in force itself; null when none does. */
export function takenBackIn(trail: readonly Change[], change: Change): Change | null {
  return trail.find(({ takesBack, undone }) => takesBack === change.id && undone === null) ?? null
}

/** Neither marked undone nor taken back by a later change. */
export const isInForce = (trail: readonly Change[], change: Change): boolean =>
  change.undone === null && takenBackIn(trail, change) === null

/** What the craft flew best with, as far as the trail knows. */
export interface BestSoFar {
  /** The change that led to it; null when it is what the trail began with. */
  readonly change: Change | null
  readonly flight: FlightOfChange | null
  readonly sentence: string
}

/**
 * Follows the kept verdicts from the trail's start: a change that was judged better and is in force becomes the best, as
 * long as every step since the last best is known not to have made it worse, or as the change was judged against the best itself.
 * The pilot's own mark comes before that. Null for an empty trail.
 */
export function bestSoFar(changes: readonly Change[]): BestSoFar | null {
  const trail = inOrder(changes)
  const first = trail[0]
  if (!first) return null
  const own = trail.findLast((change) => change.best && isInForce(trail, change))
  if (own) return { change: own, flight: own.after[0] ?? null, sentence: 'You called it the best so far.' }
  let best: Change | null = null
  let flights: readonly FlightOfChange[] = first.before
  let doubt: Change | null = null
  let open: Change | null = null
  for (const change of trail) {
    if (!isInForce(trail, change) || change.takesBack !== null) continue
    const word = change.verdict?.word
    const isDirect = change.before.some((flight) => flights.some((other) => isSameFlight(flight, other)))
    if (word === 'better' && (doubt === null || isDirect)) {
      best = change
      flights = change.after
      doubt = null
      open = null
    } else if (word === 'better') open = change
    else if (word !== 'no clear difference') doubt ??= change
  }
  const flight = flights[0] ?? null
  const since = open
    ? ` “${open.what}” was judged better than what it came from, but not against this: compare the two.`
    : ''
  const sentence = best
    ? `The last change that was judged better than all before it.${since}`
    : `No change has been judged better than what the trail began with.${since}`
  return { change: best, flight, sentence }
}

const isSameFlight = (x: FlightOfChange, y: FlightOfChange) =>
  x.flightId === y.flightId && x.contentHash === y.contentHash

/** What would make a change's verdict surer, as a sentence for the pilot; null when nothing is asked for. */
export function nextStep(change: Change): string | null {
  if (change.undone !== null) return null
  if (change.before.length === 0 || change.after.length === 0)
    return 'Give it a flight before and a flight after to judge it.'
  if (change.verdict === null) return null
  if (change.verdict.repeat !== null || change.before.length > 1 || change.after.length > 1)
    return change.verdict.repeat === null && change.before.length > 1
      ? 'There is a second flight before now: judge again, and it says what the same settings differ by.'
      : null
  return 'Judged on one flight each: fly the old settings once more (A-B-A), and add that flight before. What the two flights of A differ by is what a change must exceed.'
}
