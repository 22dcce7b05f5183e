import type { Manoeuvre } from '../manoeuvre/manoeuvre.ts'
import { studentQuantile } from '../statistics/distributions.ts'
import { leastSquares } from '../statistics/least-squares.ts'
import { scaleOf, sharedInputs, type InputFacts } from './likeness.ts'

/** One manoeuvre's answer. */
export interface Observation {
  readonly flight: 'a' | 'b'
  readonly manoeuvre: Manoeuvre
  readonly value: number
}

export interface Covariance {
  /** B - A with the same inputs. */
  readonly effect: number
  readonly low: number
  readonly high: number
  readonly dof: number
  /** What of a difference between two manoeuvres their inputs explain. */
  readonly explained: (a: Manoeuvre, b: Manoeuvre) => number
}

/** With fewer observations a parameter, slopes say more about chance than about flying. */
const LEAST_PER_PARAMETER = 2

/**
 * Analysis of covariance of a measure: value ~ flight + kind of manoeuvre + inputs, over all observations of manoeuvres
 * that both flights have, matched or not. Null when there are too few. An input that hardly varies is left out.
 */
export function covariance(observations: readonly Observation[], coverage = 0.95): Covariance | null {
  const shared = observations.filter(({ flight, manoeuvre }) =>
    observations.some((other) => other.flight !== flight && other.manoeuvre.name === manoeuvre.name),
  )
  if (shared.length < 8) return null
  const rows = [...shared].sort(byManoeuvre)
  const names = [...new Set(rows.map(({ manoeuvre }) => manoeuvre.name))].sort()
  const kinds = [...new Set(rows.map(({ manoeuvre }) => manoeuvre.kind))].sort()
  // An input's slope is the same within a kind and may differ between kinds; few observations share one slope.
  const columns: Float64Array[] = [Float64Array.from(rows, ({ flight }) => (flight === 'b' ? 0.5 : -0.5))]
  for (const name of names)
    columns.push(Float64Array.from(rows, ({ manoeuvre }) => (manoeuvre.name === name ? 1 : 0)))
  const slopes: { facts: InputFacts; mean: Map<string, number>; column: number }[] = []
  const flownIn = (side: Observation['flight']) =>
    rows.filter(({ flight }) => flight === side).map(({ manoeuvre }) => manoeuvre)
  const inputs = sharedInputs(kinds[0]!, flownIn('a'), flownIn('b'))
  const room = Math.floor(rows.length / LEAST_PER_PARAMETER) - columns.length
  for (const facts of inputs.slice(0, Math.max(0, room))) {
    const centre = new Map(
      names.map((name) => {
        const own = rows.filter(({ manoeuvre }) => manoeuvre.name === name)
        return [name, own.reduce((sum, { manoeuvre }) => sum + scaleOf(facts, manoeuvre), 0) / own.length]
      }),
    )
    const column = Float64Array.from(
      rows,
      ({ manoeuvre }) => scaleOf(facts, manoeuvre) - centre.get(manoeuvre.name)!,
    )
    if (!(Math.hypot(...column) > 1e-6)) continue
    columns.push(column)
    slopes.push({ facts, mean: centre, column: columns.length - 1 })
  }
  const fit = leastSquares(
    columns,
    rows.map(({ value }) => value),
  )
  if (!fit || fit.dof < 3) return null
  const effect = fit.coefficients[0]!
  const halfWidth = studentQuantile(0.5 + 0.5 * coverage, fit.dof) * fit.standardErrors[0]!
  return {
    effect,
    low: effect - halfWidth,
    high: effect + halfWidth,
    dof: fit.dof,
    explained: (a, b) =>
      slopes.reduce(
        (sum, { facts, column }) => sum + fit.coefficients[column]! * (scaleOf(facts, b) - scaleOf(facts, a)),
        0,
      ),
  }
}

/** An order that does not know which flight is which, so that swapping them turns the effect's sign and nothing else. */
function byManoeuvre(x: Observation, y: Observation): number {
  return (
    x.manoeuvre.name.localeCompare(y.manoeuvre.name) ||
    x.manoeuvre.start_s - y.manoeuvre.start_s ||
    x.value - y.value
  )
}
