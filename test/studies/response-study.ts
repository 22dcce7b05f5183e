/**
 * The slow study of responses on whole simulated flights, whose truth is known: an idealised linear craft, sweeps and
 * snaps, with the gyro's noise at half, once and twice the craft's own. Prints one line a seed and the summary at the
 * end, and writes the summary when told where to:
 *
 *     npm exec -- node test/studies/response-study.ts --seeds 40 --out test/fixtures/signal/response-study.json
 *
 * About ten seconds of one core a seed. What must hold stands in test/unit/response/study.test.ts, which also runs a seed
 * of its own.
 */
import { writeFileSync } from 'node:fs'
import { parseArgs } from 'node:util'
import { simulateFlight, type FlightRecord } from '../../workers/model/flight.ts'
import { findScenario } from '../../workers/model/scenarios.ts'
import { linearTruth, type AxisTruth } from '../../workers/model/truth.ts'
import { BUDGET_METHOD, errorBudget } from '../../workers/response/budget.ts'
import { lag } from '../../workers/response/lag.ts'
import { STEP_METHOD, stepResponse, type StepResponse } from '../../workers/response/step-response.ts'

/** Multiples of the craft's own gyro noise and vibration. */
export const NOISES = [0.5, 1, 2] as const
const STUDIED = [
  ['roll', 0],
  ['pitch', 1],
] as const

export interface NoiseSummary {
  readonly noise: number
  /** Responses of roll and pitch. */
  responses: number
  /** Refused with a reason. */
  refused: number
  /** The true step response lies inside the band at 95 % of its points or more. */
  inside: number
  /** Outside, but with a caution beside the curve. */
  cautioned: number
  /** Lags found, and those within a tenth of a sample of the same flight's without noise. */
  lags: number
  lagsWithin: number
  /** Largest distance of a lag, samples. */
  worstLag_samples: number
  /** Largest relative distance of the sum of the error budget's parts from its total. */
  worstBudget: number
}

export interface ResponseStudy {
  command: string
  readonly stepVersion: number
  readonly budgetVersion: number
  readonly firstSeed: number
  seeds: number
  readonly noises: readonly NoiseSummary[]
}

/** Runs the study over seeds firstSeed, firstSeed + 1, ...; deterministic. */
export function runResponseStudy(
  firstSeed: number,
  seeds: number,
  tell: (line: string, soFar: ResponseStudy) => void = () => undefined,
): ResponseStudy {
  const summary: ResponseStudy = {
    command: '',
    stepVersion: STEP_METHOD.version,
    budgetVersion: BUDGET_METHOD.version,
    firstSeed,
    seeds: 0,
    noises: NOISES.map((noise) => ({
      noise,
      responses: 0,
      refused: 0,
      inside: 0,
      cautioned: 0,
      lags: 0,
      lagsWithin: 0,
      worstLag_samples: 0,
      worstBudget: 0,
    })),
  }
  const setupOf = findScenario('linear').setup
  const truth = linearTruth(setupOf(firstSeed))
  for (let seed = firstSeed; seed < firstSeed + seeds; seed++) {
    const clean = simulateFlight({ ...setupOf(seed), noise: 0 })
    for (const one of summary.noises) {
      const flight = simulateFlight({ ...setupOf(seed), noise: one.noise })
      for (const [axis, index] of STUDIED) study(one, flight, clean, index, truth.axes[axis])
    }
    summary.seeds++
    tell(
      `seed ${seed}: ${summary.noises.map(({ inside, responses }) => `${inside}/${responses}`).join(' ')} inside`,
      summary,
    )
  }
  return summary
}

function study(
  one: NoiseSummary,
  flight: FlightRecord,
  clean: FlightRecord,
  index: number,
  truth: AxisTruth,
): void {
  const rate_hz = (flight.rows - 1) / flight.t_s[flight.rows - 1]!
  const setpoint = flight.setpoint_dps[index]!
  const gyro = flight.gyro_dps[index]!
  one.responses++
  const response = stepResponse({ setpoint, gyro, rate_hz })
  if (response.kind === 'refused') one.refused++
  else if (coverage(response, truth) >= 0.95) one.inside++
  else if (response.curve.cautions.length > 0) one.cautioned++
  const found = lag(setpoint, gyro, { rate_hz })
  const exact = lag(clean.setpoint_dps[index]!, clean.gyro_dps[index]!, { rate_hz })
  if (found.kind !== 'refused' && exact.kind !== 'refused') {
    const off = Math.abs(found.lag_s - exact.lag_s) * rate_hz
    one.lags++
    if (off <= 0.1) one.lagsWithin++
    one.worstLag_samples = Math.max(one.worstLag_samples, off)
  }
  const budget = errorBudget({ setpoint, gyro, rate_hz })
  if (budget.kind === 'given') {
    const sum = Object.values(budget.parts).reduce((all, part) => all + part, 0)
    one.worstBudget = Math.max(one.worstBudget, Math.abs(sum / budget.total - 1))
  }
}

/** Share of the curve's points, up to where the truth is written down, at which it lies inside the band. */
function coverage({ t_s, curve }: StepResponse, { step }: AxisTruth): number {
  let inside = 0
  let all = 0
  t_s.forEach((t, n) => {
    const at = t / step.every_s
    const low = step.gyro[Math.floor(at)]
    const high = step.gyro[Math.ceil(at)]
    if (t > 0 && (low === undefined || high === undefined)) return
    const value = t <= 0 ? 0 : low! + (at - Math.floor(at)) * (high! - low!)
    all++
    if (curve.interval!.low[n]! <= value && value <= curve.interval!.high[n]!) inside++
  })
  return inside / all
}

if (import.meta.main) {
  const { values } = parseArgs({
    options: {
      seeds: { type: 'string', default: '40' },
      first: { type: 'string', default: '1' },
      out: { type: 'string' },
    },
  })
  const { seeds, first, out } = values
  const write = (summary: ResponseStudy) => {
    summary.command = `npm exec -- node test/studies/response-study.ts --first ${first} --seeds ${summary.seeds}`
    if (out) writeFileSync(out, `${JSON.stringify(summary, null, 2)}\n`)
  }
  const summary = runResponseStudy(Number(first), Number(seeds), (line, soFar) => {
    console.log(line)
    write(soFar)
  })
  write(summary)
  console.log(JSON.stringify(summary, null, 2))
}
