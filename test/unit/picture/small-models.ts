/** Small models that need no shared data: quick to draw, and every part can be set. */
import { AXES, type Axis } from '../../../workers/flight/axes.ts'
import {
  type ComparisonPicture,
  type FlightKey,
  PICTURE_CAUTION,
  type PictureSignal,
  type PictureTrace,
  type SpectrogramLane,
} from '../../../workers/picture/model.ts'

const POINTS = 200
const SPAN = { t0_s: 0, t1_s: 10 }

/** A smooth curve whose height differs between flights, axes and signals, so that no two are alike. */
export function smallTrace(flight: FlightKey, signal: PictureSignal, kind = 0): PictureTrace {
  const t_s = Float64Array.from({ length: POINTS }, (_, index) => (index / (POINTS - 1)) * 10)
  const height = (flight === 'a' ? 60 : 80) + 7 * kind + (signal === 'setpoint' ? 5 : 0)
  const throttle = (t: number): number => 50 + 0.4 * height * Math.sin(t + kind)
  const rate = (t: number): number => height * Math.sin(t + kind)
  const y = Float32Array.from(t_s, signal === 'throttle' ? throttle : rate)
  return { flight, signal, t_s, y }
}

function smallLane(flight: FlightKey, axis: Axis): SpectrogramLane {
  const frames = 40
  const bins = 20
  return {
    axis,
    flight,
    frames,
    bins,
    t_s: Float64Array.from({ length: frames }, (_, index) => (index + 0.5) / 4),
    f_hz: Float64Array.from({ length: bins }, (_, index) => index * 10),
    level_db: Float32Array.from(
      { length: frames * bins },
      (_, index) => -(index % 40) - (flight === 'a' ? 0 : 5),
    ),
  }
}

/** Every part that a picture can have, with plain contents; `change` replaces any of it. */
export function smallModel(change: Partial<ComparisonPicture> = {}): ComparisonPicture {
  const both: readonly FlightKey[] = ['a', 'b']
  const cell = { a: 20.04, b: 15.96, difference: -4.08 }
  return {
    title: 'What more damping did',
    theme: 'light',
    scale: 1,
    width_px: 1200,
    arrangement: 'overlaid',
    a: {
      label: 'A (before)',
      name: 'first.csv',
      craft: 'Red',
      date: '14 May, 16:02',
      rate_hz: 1000,
      duration_s: 10,
    },
    b: { label: 'B (after)', name: 'second.csv', craft: 'Red', rate_hz: 400, duration_s: 10 },
    span: SPAN,
    alignment: 'Lined up by the sticks: likely.',
    rows: AXES.map((axis, kind) => ({
      axis,
      unit: 'deg/s',
      yMin: -100,
      yMax: 100,
      traces: both.flatMap((flight) => [
        smallTrace(flight, 'gyro', kind),
        smallTrace(flight, 'setpoint', kind),
      ]),
    })),
    throttle: {
      unit: '%',
      yMin: 0,
      yMax: 100,
      traces: both.map((flight) => smallTrace(flight, 'throttle', 3)),
    },
    spectrograms: {
      lanes: AXES.flatMap((axis) => both.map((flight) => smallLane(flight, axis))),
      min_db: -40,
      max_db: 0,
      unit: 'dB re 1 (deg/s)²/Hz',
      fMin_hz: 0,
      fMax_hz: 200,
      map: 'viridis',
    },
    measures: [
      {
        label: 'Tracking error, RMS',
        unit: 'deg/s',
        digits: 1,
        better: 'lower',
        cells: {
          roll: cell,
          pitch: cell,
          yaw: { a: 12, b: null, difference: null, reason: 'No setpoint in B.' },
        },
      },
      { label: 'Gyro, RMS', unit: 'deg/s', digits: 1, better: 'neither', cells: { roll: cell, pitch: cell } },
    ],
    notices: [{ level: 'caution', text: 'B was flown harder.' }],
    footer: { program: 'Twopack', leftOut: ['Two gaps in A.'], caution: PICTURE_CAUTION },
    ...change,
  }
}

/** The same comparison with the flights' places exchanged. */
export function exchanged(model: ComparisonPicture): ComparisonPicture {
  const other = (flight: FlightKey): FlightKey => (flight === 'a' ? 'b' : 'a')
  const row = <R extends { readonly traces: readonly PictureTrace[] }>(from: R): R => ({
    ...from,
    traces: from.traces.map((trace) => ({ ...trace, flight: other(trace.flight) })),
  })
  return {
    ...model,
    a: model.b,
    b: model.a,
    rows: model.rows.map(row),
    ...(model.throttle === undefined ? {} : { throttle: row(model.throttle) }),
    ...(model.spectrograms === undefined
      ? {}
      : {
          spectrograms: {
            ...model.spectrograms,
            lanes: model.spectrograms.lanes.map((lane) => ({ ...lane, flight: other(lane.flight) })),
          },
        }),
  }
}
