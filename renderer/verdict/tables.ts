/** What the verdict's screens show, as tables to copy: numbers in full, words as they stand. */
import type { CsvTable } from '../../workers/text/csv-out.ts'
import type { BalanceRow, MeasureVerdict } from '../../workers/verdict/comparison.ts'
import { VERDICT_MEASURES, type MeasureId } from '../../workers/verdict/measures.ts'
import type { PairTraces } from '../../workers/verdict/pair-traces.ts'
import type { PairLine } from './pair-order.ts'

export function measuresAsTable(measures: readonly MeasureVerdict[]): CsvTable {
  return {
    head: [
      'measure',
      'axis',
      'unit',
      'headline',
      'verdict',
      'B - A',
      'interval low',
      'interval high',
      'coverage',
      'p',
      'adjusted p',
      'adjustment',
      'pairs',
      'pairs needed',
      'A',
      'B',
      'smallest difference that matters',
      'floor from the repeat flight',
      'floor low',
      'floor high',
      'floor coverage',
      'floor pairs',
      'covariance B - A',
      'covariance low',
      'covariance high',
      'why',
    ],
    rows: measures.map((one) => [
      one.label,
      one.axis ?? 'craft',
      one.unit,
      one.headline ? 'yes' : 'no',
      one.word,
      one.effect,
      one.interval?.low ?? null,
      one.interval?.high ?? null,
      one.interval?.coverage ?? null,
      one.p,
      one.adjustedP,
      one.adjustment ?? '',
      one.pairs,
      one.pairsNeeded,
      one.a,
      one.b,
      one.delta,
      one.floor,
      one.floorRange?.low ?? null,
      one.floorRange?.high ?? null,
      one.floorRange?.coverage ?? null,
      one.floorRange?.pairs ?? null,
      one.secondOpinion?.effect ?? null,
      one.secondOpinion?.low ?? null,
      one.secondOpinion?.high ?? null,
      [one.reason, ...one.cautions].join(' '),
    ]),
  }
}

export function balanceAsTable(rows: readonly BalanceRow[]): CsvTable {
  return {
    head: [
      'axis',
      'input',
      'unit',
      'A, all',
      'B, all',
      'apart, all (SD)',
      'A count',
      'B count',
      'A, paired',
      'B, paired',
      'apart, paired (SD)',
      'pairs',
    ],
    rows: rows.map(({ axis, input, unit, before, after }) => [
      axis ?? 'craft',
      input,
      unit,
      before.a,
      before.b,
      before.standardisedDifference,
      before.countA,
      before.countB,
      after?.a ?? null,
      after?.b ?? null,
      after?.standardisedDifference ?? null,
      after?.countA ?? null,
    ]),
  }
}

/** Every pair with every measure that it shows, one line each. */
export function pairsAsTable(lines: readonly PairLine[]): CsvTable {
  return {
    head: [
      'manoeuvre',
      'A at (s)',
      'B at (s)',
      'apart in flying (1 = as far as a pair may be)',
      'measure',
      'axis',
      'unit',
      'A',
      'B',
      'B - A, adjusted',
    ],
    rows: lines.flatMap(({ pair, a_s, b_s }) =>
      pair.differences.map(({ key, a, b, difference }) => {
        const [id, axis] = key.split('.')
        const { label, unit } = VERDICT_MEASURES[id as MeasureId]
        return [pair.name, a_s, b_s, pair.distance, label, axis ?? '', unit, a, b, difference]
      }),
    ),
  }
}

/** The four traces of a pair over the time from the stop on; each log keeps its own times. */
export function tracesAsTable(traces: PairTraces): CsvTable {
  const series = (['a', 'b'] as const).flatMap((side) =>
    (['setpoint', 'gyro'] as const).flatMap((name) => {
      const trace = traces[side][name]
      return trace ? [{ name: `${side.toUpperCase()} ${name}, deg/s`, trace }] : []
    }),
  )
  const times = [...new Set(series.flatMap(({ trace }) => Array.from(trace.t_s)))].sort((x, y) => x - y)
  const values = series.map(
    ({ trace }) => new Map(Array.from(trace.t_s, (t, n) => [t, trace.rate_dps[n] ?? NaN])),
  )
  return {
    head: ['time from the stop, s', ...series.map(({ name }) => name)],
    rows: times.map((t) => [t, ...values.map((map) => finiteOrNull(map.get(t)))]),
  }
}

const finiteOrNull = (value: number | undefined) =>
  value !== undefined && Number.isFinite(value) ? value : null
