/** Models to draw in tests: two flights of the shared data, and invented ones for the odd cases. */
import { readFileSync } from 'node:fs'
import { AXES, type Axis, perAxis, type PerAxis } from '../../../workers/flight/axes.ts'
import {
  type AxisRow,
  type ComparisonPicture,
  type FlightKey,
  type PictureFlight,
  type PictureMeasure,
  PICTURE_CAUTION,
  type PictureTrace,
  type SpectrogramLane,
} from '../../../workers/picture/model.ts'
import { commonLevelRange, commonRateRange } from '../../../workers/picture/ranges.ts'
import { buildPyramid } from '../../../workers/reduce/pyramid.ts'
import { asLine, reduce } from '../../../workers/reduce/reduce.ts'
import { lag } from '../../../workers/response/lag.ts'
import { rms } from '../../../workers/response/tracking.ts'
import { spectrogram, spectrogramLayout } from '../../../workers/signal/spectrogram.ts'
import { DEG_PER_RAD } from '../../../workers/units/units.ts'

/** One flight's columns on the common clock, in deg/s and 0..1. */
export interface SampleFlight {
  readonly facts: PictureFlight
  readonly rate_hz: number
  readonly t_s: Float64Array
  readonly gyro: PerAxis<Float32Array>
  readonly setpoint: PerAxis<Float32Array> | null
  readonly throttle: Float32Array
}

/** One of the shared research flights: setpoint deg/s, gyro rad/s, thrust 0..65535 (data/README.md). */
export function researchFlight(path: string, label: string, shift_s: number): SampleFlight {
  const lines = readFileSync(path, 'utf8').trim().split('\n')
  const names = (lines[0] as string).trim().split(',')
  const rows = lines.slice(1).map((line) => line.split(',').map(Number))
  const column = (name: string, factor: number): Float32Array => {
    const index = names.indexOf(name)
    if (index < 0) throw new Error(`no column ${name}`)
    return Float32Array.from(rows, (row) => (row[index] as number) * factor)
  }
  const letter = { roll: 'r', pitch: 'p', yaw: 'y' } as const
  const t_s = Float64Array.from(rows, (row) => (row[0] as number) + shift_s)
  const duration_s = (t_s.at(-1) as number) - (t_s[0] as number)
  const rate_hz = (t_s.length - 1) / duration_s
  const name = path.split('/').at(-1) as string
  return {
    facts: { label, name, craft: 'small research quad', rate_hz, duration_s },
    rate_hz,
    t_s,
    gyro: perAxis((axis) => column(`real_rate.${letter[axis]}`, DEG_PER_RAD)),
    setpoint: perAxis((axis) => column(`target_rate.${letter[axis]}`, 1)),
    throttle: column('target_rate.thrust', 100 / 65535),
  }
}

/** An invented flight: flips and rolls, a second-order answer, a motor line that follows the throttle. */
export function inventedFlight(
  label: string,
  damping: number,
  noise_dps: number,
  rate_hz = 1000,
): SampleFlight {
  const count = Math.round(20 * rate_hz)
  const t_s = Float64Array.from({ length: count }, (_, index) => index / rate_hz)
  let seed = 12345
  const random = (): number => {
    seed = (Math.imul(seed, 1664525) + 1013904223) >>> 0
    return seed / 2 ** 31 - 1
  }
  const throttle = Float32Array.from(t_s, (t) => 45 + 25 * Math.sin(t * 0.9) + 10 * Math.sin(t * 2.3))
  const command = (axis: number, t: number): number => {
    const slow = 120 * Math.sin(t * (0.8 + 0.3 * axis)) * Math.sin(t * 0.31)
    const phase = (t + axis * 1.7) % 5
    return axis < 2 && phase > 2 && phase < 2.6 ? 620 * (axis === 0 ? 1 : -1) : slow
  }
  const setpoint = perAxis((axis) => Float32Array.from(t_s, (t) => command(AXES.indexOf(axis), t)))
  const gyro = perAxis((axis) => {
    const wanted = setpoint[axis]
    const result = new Float32Array(count)
    let rate = 0
    let change = 0
    let motor = 0
    const natural = 2 * Math.PI * 9
    for (let index = 0; index < count; index++) {
      change += (natural ** 2 * ((wanted[index] as number) - rate) - 2 * damping * natural * change) / rate_hz
      rate += change / rate_hz
      motor += (2 * Math.PI * (80 + 2.2 * (throttle[index] as number))) / rate_hz
      result[index] = rate + noise_dps * (random() + 1.5 * Math.sin(motor))
    }
    return result
  })
  const facts = {
    label,
    name: `${label.slice(0, 1)}-freestyle.csv`,
    craft: 'Five-inch, red',
    rate_hz,
    duration_s: 20,
  }
  return { facts, rate_hz, t_s, gyro, setpoint, throttle }
}

/** The whole model of a comparison, computed by the program's own parts. */
export function modelOf(
  a: SampleFlight,
  b: SampleFlight,
  span: { t0_s: number; t1_s: number },
  change: Partial<ComparisonPicture> = {},
): ComparisonPicture {
  const flights: Record<FlightKey, SampleFlight> = { a, b }
  const line = (flight: FlightKey, signal: PictureTrace['signal'], samples: Float32Array): PictureTrace => {
    const { t_s, rate_hz } = flights[flight]
    const reduced = reduce(t_s, samples, buildPyramid(samples), span.t0_s, span.t1_s, 560, 3 / rate_hz)
    const { x, y } = asLine(reduced)
    return { flight, signal, t_s: x, y }
  }
  const both: FlightKey[] = ['a', 'b']
  const traces = perAxis((axis) =>
    both.flatMap((flight) => {
      const { gyro, setpoint } = flights[flight]
      const lines = [line(flight, 'gyro', gyro[axis])]
      if (setpoint !== null) lines.push(line(flight, 'setpoint', setpoint[axis]))
      return lines
    }),
  )
  const rows = AXES.map((axis): AxisRow => ({
    axis,
    unit: 'deg/s',
    ...commonRateRange(traces[axis]),
    traces: traces[axis],
  }))
  const lanes = AXES.flatMap((axis) => both.map((flight) => laneOf(flight, axis, flights[flight], span)))
  const range = commonLevelRange(lanes) ?? { min_db: -60, max_db: 0 }
  return {
    title: 'Did removing the I-gain help?',
    theme: 'light',
    scale: 2,
    width_px: 1200,
    a: a.facts,
    b: b.facts,
    span: { ...span, clock: 'time since the start of A' },
    alignment: 'Lined up by the setpoints, which are alike (r 0.98): certain.',
    rows,
    throttle: {
      unit: '%',
      yMin: 0,
      yMax: 100,
      traces: both.map((flight) => line(flight, 'throttle', flights[flight].throttle)),
    },
    spectrograms: {
      lanes,
      ...range,
      unit: 'dB re 1 (deg/s)²/Hz',
      fMin_hz: 0,
      fMax_hz: Math.max(a.rate_hz, b.rate_hz) / 2,
      map: 'viridis',
    },
    measures: measuresOf(flights, span),
    notices: [],
    footer: { program: 'Twopack', leftOut: [], caution: PICTURE_CAUTION },
    ...change,
  }
}

function laneOf(
  flight: FlightKey,
  axis: Axis,
  from: SampleFlight,
  span: { t0_s: number; t1_s: number },
): SpectrogramLane {
  const columns = Math.round(360)
  const layout = spectrogramLayout(from.rate_hz, Math.round((span.t1_s - span.t0_s) * from.rate_hz), columns)
  const { frames, bins, t_s, f_hz, level_db } = spectrogram(from.gyro[axis], {
    rate_hz: from.rate_hz,
    ...layout,
  })
  const start = from.t_s[0] as number
  return { axis, flight, frames, bins, t_s: t_s.map((t) => t + start), f_hz, level_db }
}

function measuresOf(
  flights: Record<FlightKey, SampleFlight>,
  span: { t0_s: number; t1_s: number },
): PictureMeasure[] {
  const within = (from: SampleFlight, samples: Float32Array): Float32Array =>
    samples.filter((_, index) => {
      const t = from.t_s[index] as number
      return t >= span.t0_s && t <= span.t1_s
    })
  const measure = (
    label: string,
    unit: string,
    digits: number,
    better: PictureMeasure['better'],
    of: (from: SampleFlight, axis: Axis) => number | null,
  ): PictureMeasure => ({
    label,
    unit,
    digits,
    better,
    cells: perAxis((axis) => {
      const a = of(flights.a, axis)
      const b = of(flights.b, axis)
      const difference = a === null || b === null ? null : b - a
      const lacking = [a === null ? 'A' : '', b === null ? 'B' : ''].filter((key) => key !== '').join(' and ')
      const reason = `Not known for ${lacking}: no setpoint in the log, or the gyro did not follow it.`
      return { a, b, difference, ...(difference === null ? { reason } : {}) }
    }),
  })
  return [
    measure('Tracking error, RMS', 'deg/s', 1, 'lower', (from, axis) => {
      if (from.setpoint === null) return null
      const wanted = from.setpoint[axis]
      return rms(
        within(
          from,
          from.gyro[axis].map((value, index) => value - (wanted[index] as number)),
        ),
      )
    }),
    measure('Lag', 'ms', 1, 'lower', (from, axis) => {
      if (from.setpoint === null) return null
      const found = lag(within(from, from.setpoint[axis]), within(from, from.gyro[axis]), {
        rate_hz: from.rate_hz,
      })
      return found.kind === 'lag' ? found.lag_s * 1000 : null
    }),
    measure('Gyro, RMS', 'deg/s', 1, 'neither', (from, axis) => rms(within(from, from.gyro[axis]))),
  ]
}
