import type { Axis } from '../flight/axes.ts'
import type { Manoeuvre } from '../manoeuvre/manoeuvre.ts'
import { assign } from '../statistics/assignment.ts'
import { mean, variance } from '../statistics/moments.ts'
import type { Balance, BalanceRow, Unmatched } from './comparison.ts'
import {
  distanceBetween,
  inputsOf,
  largestDifference,
  scaleOf,
  sharedInputs,
  tolerancesOf,
  type InputFacts,
  type Tolerance,
} from './likeness.ts'

/** Two like manoeuvres. */
export interface Match {
  readonly a: Manoeuvre
  readonly b: Manoeuvre
  readonly distance: number
  readonly reason: string
}

export interface Matching {
  readonly matches: readonly Match[]
  readonly unmatched: Unmatched
}

/** A cost that no set of good pairs can outweigh: too different to be paired. */
const TOO_FAR = 1e6

/**
 * Pairs the manoeuvres of two flights: exact on axis, kind and direction; within that the assignment of least total
 * squared distance (Hungarian method) over as many pairs as the caliper allows. Swapping the flights gives the same pairs. Sweeps take no part.
 */
export function matchManoeuvres(a: readonly Manoeuvre[], b: readonly Manoeuvre[]): Matching {
  const groupsA = grouped(a)
  const groupsB = grouped(b)
  const matches: Match[] = []
  const loneA: { id: string; reason: string }[] = []
  const loneB: { id: string; reason: string }[] = []
  for (const key of [...new Set([...groupsA.keys(), ...groupsB.keys()])].sort()) {
    const own = groupsA.get(key) ?? []
    const other = groupsB.get(key) ?? []
    const tolerances = tolerancesOf(own, other)
    const distance = own.map((one) => other.map((two) => distanceBetween(tolerances, one, two)))
    // Squares: plain distances on a line have many assignments of the same total, and swapping could pick another.
    const cost = distance.map((row) =>
      row.map((value) => (value <= 1 ? value * value : TOO_FAR + value * value)),
    )
    const partner = own.length > 0 && other.length > 0 ? assign(cost) : new Int32Array(own.length).fill(-1)
    const taken = new Set<number>()
    partner.forEach((column, row) => {
      if (column < 0 || !(distance[row]![column]! <= 1)) return
      taken.add(column)
      const [one, two] = [own[row]!, other[column]!]
      matches.push({
        a: one,
        b: two,
        distance: distance[row]![column]!,
        reason: `Both ${one.name}; largest difference: ${largestDifference(tolerances, one, two)}.`,
      })
    })
    const pairedA = new Set(matches.map((match) => match.a.id))
    own.forEach((one, row) => {
      if (!pairedA.has(one.id))
        loneA.push({ id: one.id, reason: whyAlone(one, other, distance[row]!, tolerances) })
    })
    other.forEach((two, column) => {
      if (taken.has(column)) return
      const distances = distance.map((row) => row[column]!)
      loneB.push({ id: two.id, reason: whyAlone(two, own, distances, tolerances) })
    })
  }
  const share = (lone: readonly unknown[], all: number) =>
    lone.length + all > 0 ? lone.length / (lone.length + all) : 0
  return {
    matches,
    unmatched: {
      a: loneA,
      b: loneB,
      shareA: share(loneA, matches.length),
      shareB: share(loneB, matches.length),
    },
  }
}

/** What must agree exactly; the name tells axis, kind and direction, and how a catch came about. */
function grouped(manoeuvres: readonly Manoeuvre[]): Map<string, Manoeuvre[]> {
  const groups = new Map<string, Manoeuvre[]>()
  for (const manoeuvre of manoeuvres) {
    if (manoeuvre.kind === 'sweep') continue
    const list = groups.get(manoeuvre.name)
    if (list) list.push(manoeuvre)
    else groups.set(manoeuvre.name, [manoeuvre])
  }
  return groups
}

function whyAlone(
  one: Manoeuvre,
  others: readonly Manoeuvre[],
  distances: readonly number[],
  tolerances: readonly Tolerance[],
): string {
  if (others.length === 0) return `The other flight has no ${one.name}.`
  let nearest = 0
  for (let k = 1; k < others.length; k++) if (distances[k]! < distances[nearest]!) nearest = k
  if (distances[nearest]! > 1)
    return `The nearest ${one.name} of the other flight was flown too differently: ${largestDifference(tolerances, one, others[nearest]!)}.`
  return `The like ones of the other flight are paired with others that fit better.`
}

/** An input of the pairs may differ by this many of its spreads before they count as unevenly flown. */
const EVEN = 1

/** True when an input of these pairs differs between the flights by more than its spread. */
export function areUneven(matches: readonly Match[]): boolean {
  const kinds = [...new Set(matches.map(({ a }) => a.kind))]
  return kinds.some((kind) => {
    const own = matches.filter(({ a }) => a.kind === kind)
    if (own.length < 3) return false
    const flownIn = (side: 'a' | 'b') => own.map((match) => match[side])
    return sharedInputs(kind, flownIn('a'), flownIn('b')).some((facts) => {
      const x = own.map(({ a }) => scaleOf(facts, a))
      const y = own.map(({ b }) => scaleOf(facts, b))
      const spread = Math.sqrt(0.5 * (variance(x) + variance(y)))
      // What lies within a third of the tolerance is alike whatever the spread.
      const apart = Math.abs(mean(y) - mean(x))
      const alike = facts.ratio ? Math.log(1 + facts.alike) : facts.alike
      return apart > EVEN * spread && apart > alike / 3
    })
  })
}

/** Post-match standardised differences above this are not balanced (Austin 2011 [from memory]). */
const BALANCED = 0.1

/** A difference that is many times a tiny spread may still be none that could matter. */
function isUnlike({ ratio, alike }: InputFacts, { a, b, standardisedDifference }: Balance): boolean {
  const apart = ratio ? Math.abs(Math.log(b / a)) : Math.abs(b - a)
  return Math.abs(standardisedDifference) > BALANCED && apart > (ratio ? Math.log(1 + alike) : alike) / 3
}

/** How alike the flying was, per axis (or for the craft) and input: all stops before pairing, paired ones after. */
export function balanceTable(
  a: readonly Manoeuvre[],
  b: readonly Manoeuvre[],
  matches: readonly Match[],
): BalanceRow[] {
  const rows: BalanceRow[] = []
  const groups: (Axis | null)[] = ['roll', 'pitch', 'yaw', null]
  for (const axis of groups) {
    const ofAxis = (one: Manoeuvre) =>
      one.axis === axis && (axis === null ? one.kind === 'wash' : one.stop_s !== null)
    const all = { a: a.filter(ofAxis), b: b.filter(ofAxis) }
    const kind = (all.a[0] ?? all.b[0])?.kind
    if (kind === undefined) continue
    const paired = matches.filter((match) => ofAxis(match.a))
    for (const facts of inputsOf(kind)) {
      const valuesOf = (list: readonly Manoeuvre[]) => list.map(facts.of).filter(Number.isFinite)
      const before = { a: valuesOf(all.a), b: valuesOf(all.b) }
      if (before.a.length < 2 || before.b.length < 2) continue
      const spread = Math.sqrt(0.5 * (variance(before.a) + variance(before.b)))
      const balance = (own: readonly number[], other: readonly number[]): Balance => ({
        a: mean(own),
        b: mean(other),
        standardisedDifference: spread > 0 ? (mean(other) - mean(own)) / spread : 0,
        countA: own.length,
        countB: other.length,
      })
      const after =
        paired.length > 0
          ? balance(valuesOf(paired.map((match) => match.a)), valuesOf(paired.map((match) => match.b)))
          : null
      rows.push({
        axis,
        input: facts.name,
        unit: facts.unit,
        before: balance(before.a, before.b),
        after,
        unlike: after !== null && isUnlike(facts, after),
      })
    }
  }
  return rows
}
