import { AXES, type Axis } from '../flight/axes.ts'
import { STEP_METHOD, stepResponse, type StepResponse } from '../response/step-response.ts'
import type { Refused } from '../signal/result.ts'
import type { Measurable } from './answers.ts'
import type { Evidence } from './judge.ts'

export type StepEvidence = Omit<Evidence, 'headline' | 'delta' | 'floor'>

const FIGURES = [
  { id: 'rise', figure: 'rise_s', unit: 'ms' },
  { id: 'overshoot', figure: 'overshoot_percent', unit: '%' },
] as const

/** Rise and overshoot of each axis's step response in both flights: one figure a flight, with its sampling error. */
export function stepEvidence(a: Measurable, b: Measurable): StepEvidence[] {
  return AXES.flatMap((axis) => {
    const own = responseOf(a, axis)
    const other = responseOf(b, axis)
    return FIGURES.map(({ id, figure, unit }): StepEvidence => {
      const base = {
        id,
        axis,
        differences: [],
        adjustment: 0,
        uneven: false,
        secondOpinion: null,
        cautions: [],
        a: null,
        b: null,
        whole: null,
      }
      const values = [own, other].map((response, flight) => {
        const name = flight === 0 ? 'A' : 'B'
        if (response.kind === 'refused') return { refusal: `${name}: ${response.reason}` }
        const result = response.figures[figure]
        if (result.kind === 'refused') return { refusal: `${name}: ${result.reason}` }
        if (!result.interval) return { refusal: `${name}: no interval could be given.` }
        if (result.unit !== unit) throw new Error(`${figure} in ${result.unit}, not ${unit}`)
        // Width of a 95 % interval over twice 1.96.
        return { result, value: result.value, error: (result.interval.high - result.interval.low) / 3.92 }
      })
      const [x, y] = values
      const refusal = x!.refusal ?? y!.refusal ?? null
      if (refusal !== null) return { ...base, refusal }
      const doubts = [...new Set([...x!.result!.cautions, ...y!.result!.cautions])]
      return {
        ...base,
        a: x!.value!,
        b: y!.value!,
        whole: { effect: y!.value! - x!.value!, error: Math.hypot(x!.error!, y!.error!) },
        // A narrow interval can sit around a wrong number: without a clean estimate of both there is no word.
        refusal: doubts.length > 0 ? `The estimate is in doubt: ${doubts[0]!}` : null,
        cautions: ['One figure for each flight: the flying was not matched.', ...doubts],
      }
    })
  })
}

function responseOf({ even }: Measurable, axis: Axis): StepResponse | Refused {
  const setpoint = even.setpoint[axis]
  const gyro = even.gyro[axis]
  const name = setpoint ? 'gyro' : 'setpoint'
  if (!setpoint || !gyro)
    return {
      kind: 'refused',
      reason: `The log holds no ${name} for this axis.`,
      method: STEP_METHOD,
      samples: 0,
      segments: null,
      cautions: [],
      exclusions: [],
    }
  return stepResponse({
    setpoint,
    gyro,
    rate_hz: even.rate_hz,
    ...(even.atTop ? { limited: even.atTop } : {}),
  })
}
