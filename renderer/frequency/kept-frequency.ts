/** Results of the frequency screen, kept so that opening the same flights again shows them at once. */
import * as v from 'valibot'
import type { FlightEvents } from '../../workers/comparison/flight-events.ts'
import { FREQUENCY_METHOD, type FrequencyComparison } from '../../workers/comparison/frequency.ts'
import type { ShownSignal } from '../../workers/comparison/shown-signals.ts'
import { SIGNAL_METHOD, type SignalComparison } from '../../workers/comparison/signal-frequency.ts'
import { LAG_METHOD, TRACKING_METHOD } from '../../workers/comparison/tracking-over-time.ts'
import type { Axis } from '../../workers/flight/axes.ts'
import { BUDGET_METHOD } from '../../workers/response/budget.ts'
import { DEMAND_METHOD, type ResponseByDemand } from '../../workers/response/by-demand.ts'
import { CLOSED_LOOP_METHOD } from '../../workers/response/closed-loop.ts'
import { HEADROOM_METHOD } from '../../workers/response/headroom.ts'
import { WASH_METHOD } from '../../workers/response/prop-wash.ts'
import { LAG_CHECK_METHOD } from '../../workers/response/lag-check.ts'
import { STEP_METHOD } from '../../workers/response/step-response.ts'
import { DRIFT_METHOD } from '../../workers/response/throttle-events.ts'
import type { LoadedFlight } from '../compare/load-flight.ts'
import { keptOr } from '../work/kept-result.ts'

/** Both flights over a span of the common clock. */
export interface Asked {
  readonly a: LoadedFlight
  readonly b: LoadedFlight
  readonly offset_s: number
  readonly t0_s: number
  readonly t1_s: number
}

const doubles = v.instance(Float64Array)
const refusedSchema = v.looseObject({
  kind: v.literal('refused'),
  reason: v.string(),
  cautions: v.array(v.string()),
  exclusions: v.array(v.looseObject({ what: v.string(), share: v.number() })),
})
const orRefused = <S extends v.GenericSchema>(schema: S) => v.union([refusedSchema, schema])
const spectrumSchema = orRefused(
  v.looseObject({ f_hz: doubles, density: doubles, low: doubles, high: doubles, dof: v.number() }),
)
const mapSchema = orRefused(
  v.looseObject({ f_hz: doubles, throttleEdges: doubles, level_db: v.instance(Float32Array) }),
)
const differenceSchema = orRefused(
  v.looseObject({ f_hz: doubles, throttleEdges: doubles, difference_db: v.instance(Float32Array) }),
)
const givenSchema = v.looseObject({
  kind: v.literal('given'),
  unit: v.string(),
  cautions: v.array(v.string()),
  interval: v.nullable(v.looseObject({})),
})
const loopSchema = v.looseObject({
  f_hz: doubles,
  magnitude_db: doubles,
  phase_deg: doubles,
  coherence: doubles,
})
const stepSchema = orRefused(
  v.looseObject({ kind: v.literal('given'), t_s: doubles, curve: givenSchema, figures: v.looseObject({}) }),
)
const axisSchema = v.looseObject({
  spectrum: spectrumSchema,
  errorSpectrum: spectrumSchema,
  noise: mapSchema,
  response: stepSchema,
  loop: orRefused(loopSchema),
  budget: orRefused(v.looseObject({ kind: v.literal('given'), parts: v.looseObject({}), total: v.number() })),
  filter: orRefused(v.looseObject({ kind: v.literal('given'), f_hz: doubles, size_db: doubles })),
  lag: v.looseObject({ lag: orRefused(givenSchema), byPhase: orRefused(givenSchema) }),
  overTime: orRefused(
    v.looseObject({ kind: v.literal('given'), t_s: doubles, rms_dps: doubles, lag_ms: doubles }),
  ),
})
/** Looser than the type: enough that what is kept is of the kind that the screen draws. */
const as = <T>(schema: v.GenericSchema) => schema as unknown as v.GenericSchema<unknown, T>
const responseSchema = as<FrequencyComparison>(
  v.looseObject({ axis: v.string(), a: axisSchema, b: axisSchema, difference: differenceSchema }),
)
const half = v.looseObject({ spectrum: spectrumSchema, noise: mapSchema })
const signalSchema = as<SignalComparison>(
  v.looseObject({ axis: v.string(), signal: v.string(), a: half, b: half, difference: differenceSchema }),
)
const demandSchema = as<ResponseByDemand>(
  v.looseObject({ split_dps: v.number(), small: stepSchema, large: stepSchema }),
)
const perAxis = v.looseObject({
  roll: orRefused(givenSchema),
  pitch: orRefused(givenSchema),
  yaw: orRefused(givenSchema),
})
const eventsSchema = as<FlightEvents>(
  v.looseObject({ drift: perAxis, wash: perAxis, drops: v.number(), headroom: v.looseObject({}) }),
)

/** All versions that a result depends on, as one text among its parameters. */
const versionsOf = (...methods: readonly { readonly id: string; readonly version: number }[]) =>
  methods.map(({ id, version }) => `${id} ${version}`).join(', ')

const pairOf = ({ a, b, offset_s, t0_s, t1_s }: Asked) => ({
  a: a.detail,
  b: b.detail,
  parameters: { offset_s, t0_s, t1_s },
})

export const frequencyResults = {
  response(asked: Asked, axis: Axis, compute: () => Promise<FrequencyComparison>) {
    const { parameters, ...pair } = pairOf(asked)
    const versions = versionsOf(
      ...[SIGNAL_METHOD, STEP_METHOD, CLOSED_LOOP_METHOD, BUDGET_METHOD],
      ...[LAG_METHOD, LAG_CHECK_METHOD, TRACKING_METHOD],
    )
    return keptOr(
      {
        ...pair,
        method: FREQUENCY_METHOD.id,
        version: FREQUENCY_METHOD.version,
        parameters: { ...parameters, axis, versions },
        schema: responseSchema,
      },
      compute,
    )
  },
  signal(asked: Asked, axis: Axis, signal: ShownSignal, compute: () => Promise<SignalComparison>) {
    const { parameters, ...pair } = pairOf(asked)
    return keptOr(
      {
        ...pair,
        method: SIGNAL_METHOD.id,
        version: SIGNAL_METHOD.version,
        parameters: { ...parameters, axis, signal },
        schema: signalSchema,
      },
      compute,
    )
  },
  demand(
    flight: LoadedFlight,
    t0_s: number,
    t1_s: number,
    axis: Axis,
    compute: () => Promise<ResponseByDemand>,
  ) {
    return keptOr(
      {
        a: flight.detail,
        b: null,
        method: DEMAND_METHOD.id,
        version: DEMAND_METHOD.version,
        parameters: { t0_s, t1_s, axis, versions: versionsOf(STEP_METHOD) },
        schema: demandSchema,
      },
      compute,
    )
  },
  events(flight: LoadedFlight, t0_s: number, t1_s: number, compute: () => Promise<FlightEvents>) {
    return keptOr(
      {
        a: flight.detail,
        b: null,
        method: 'flight-events',
        version: 1,
        parameters: {
          t0_s,
          t1_s,
          versions: versionsOf(DRIFT_METHOD, WASH_METHOD, HEADROOM_METHOD, STEP_METHOD),
        },
        schema: eventsSchema,
      },
      compute,
    )
  },
}
