import { AXES } from '../flight/axes.ts'
import type { Craft } from './craft.ts'
import { Disturbance, type Knock, type Trouble, type WashSpan, type Weather } from './disturbance.ts'
import { GyroNoise } from './gyro.ts'
import { LinkState, Smoother, type Link } from './link.ts'
import type { FlownManoeuvre, ManoeuvreOrder } from './manoeuvre.ts'
import { PILOT_RATE_HZ } from './moves.ts'
import { Pilot, type PilotStyle } from './pilot.ts'
import { SpanRecorder, type Span } from './spans.ts'
import { setpoint_dps, type Tune } from './tune.ts'
import { Vehicle } from './vehicle.ts'

/** Everything that decides a flight. */
export interface FlightSetup {
  readonly craft: Craft
  readonly tune: Tune
  readonly pilot: PilotStyle
  readonly orders: readonly ManoeuvreOrder[]
  readonly weather: Weather
  readonly trouble: Trouble
  readonly link: Link
  /** Share of the battery's charge drawn before take-off. */
  readonly batteryUsed: number
  /** 1: the craft's own vibration and gyro noise, 0: none. */
  readonly noise: number
  readonly rate_hz: number
  readonly logRate_hz: number
  readonly seed: number
  /** The flight is cut off here if the orders take longer. */
  readonly longest_s: number
}

/** A flight as it would be logged, before it is written: one value per row. Rates deg/s, sticks and motors shares. */
export interface FlightRecord {
  readonly rows: number
  readonly t_s: Float64Array
  readonly gyro_dps: Float32Array[]
  readonly gyroRaw_dps: Float32Array[]
  readonly setpoint_dps: Float32Array[]
  readonly stick: Float32Array[]
  readonly throttle: Float32Array
  readonly motor: Float32Array[]
  readonly voltage_V: Float32Array
  /** Parts of the controller's demand per axis, shares of the motors. */
  readonly pTerm: Float32Array[]
  readonly iTerm: Float32Array[]
  readonly dTerm: Float32Array[]
  readonly feedForward: Float32Array[]
  /** Rotor speeds, turns a second. */
  readonly speed_revps: Float32Array[]
  readonly manoeuvres: readonly FlownManoeuvre[]
  readonly knocks: readonly Knock[]
  readonly washSpans: readonly WashSpan[]
  /** Spans in which the demand did not fit into the motors' range. */
  readonly saturated: readonly Span[]
  /** Spans off the ground with any motor at the highest or at the lowest command it may be given. */
  readonly atTop: readonly Span[]
  readonly atIdle: readonly Span[]
  /** Height over the ground at its highest, m: to judge a flight by. */
  readonly highest_m: number
}

/** Flights seldom take longer: room for this much is made at first. */
const USUAL_S = 80
/** Spans of saturation closer than this are one. */
const SATURATION_JOIN_S = 0.005

/**
 * Flies a flight. Same setup, same record to the last bit. The setup is taken as checked (see check-setup.ts).
 * Runs at more than a hundred times real time; allocates the record's columns and nothing per step.
 */
export function simulateFlight(setup: FlightSetup): FlightRecord {
  const { craft, tune, rate_hz, seed } = setup
  const disturbance = new Disturbance(craft, setup.weather, setup.trouble, rate_hz, seed)
  const gyroNoise = setup.noise > 0 ? new GyroNoise(craft, tune.controlRate_hz, setup.noise, seed) : null
  const { batteryUsed } = setup
  const vehicle = new Vehicle(craft, tune, { rate_hz, batteryUsed, disturbance, gyroNoise })
  const pilot = new Pilot(craft, tune, setup.orders, setup.pilot, seed)
  const link = new LinkState(setup.link, seed)
  const smoothers = AXES.map(() => new Smoother(tune.stickSmoothing_hz, tune.controlRate_hz))
  const curves = AXES.map((axis) => tune.curves[axis])
  const log = new Recorder(Math.ceil(Math.min(setup.longest_s, USUAL_S) * setup.logRate_hz) + 1, tune)
  const pilotEvery = rate_hz / PILOT_RATE_HZ
  const controlEvery = rate_hz / tune.controlRate_hz
  const logEvery = rate_hz / setup.logRate_hz
  const steps = Math.floor(setup.longest_s * rate_hz)
  let nextLog = 0
  for (let step = 0; step < steps && !pilot.done; step++) {
    const t_s = step / rate_hz
    if (step % pilotEvery === 0) pilot.step(t_s, vehicle.body)
    link.step(t_s, pilot.sticks)
    if (step % controlEvery === 0) {
      for (let axis = 0; axis < 3; axis++) {
        const smooth = smoothers[axis]!.step(link.heard[axis]!)
        vehicle.setpoint_dps[axis] = setpoint_dps(curves[axis]!, smooth)
      }
      vehicle.throttle = link.heard[3]!
    }
    vehicle.step()
    if (vehicle.controlled) log.watch(t_s, vehicle)
    if (step >= nextLog) {
      log.row(t_s, vehicle, link.heard)
      nextLog += logEvery
    }
  }
  disturbance.finish(vehicle.t_s)
  return log.finish(vehicle.t_s, pilot.flown, disturbance)
}

/** Gathers the rows and the spans at the motors' limits. */
class Recorder {
  private rows = 0
  private highest_m = 0
  private t_s: Float64Array
  /** Gyro, unfiltered gyro, setpoint, stick (3 each), throttle, motors (4), voltage, P, I, D, forward (3 each), speeds (4). */
  private columns: Float32Array[]
  private readonly saturated = new SpanRecorder(SATURATION_JOIN_S)
  private readonly atTop = new SpanRecorder(SATURATION_JOIN_S)
  private readonly atIdle = new SpanRecorder(SATURATION_JOIN_S)
  private readonly tune: Tune

  constructor(firstRows: number, tune: Tune) {
    this.t_s = new Float64Array(firstRows)
    this.columns = Array.from({ length: 34 }, () => new Float32Array(firstRows))
    this.tune = tune
  }

  row(t_s: number, vehicle: Vehicle, heard: Float64Array): void {
    const row = this.rows++
    if (row === this.t_s.length) this.grow()
    const { columns } = this
    this.t_s[row] = t_s
    for (let axis = 0; axis < 3; axis++) {
      columns[axis]![row] = vehicle.controllers[axis]!.gyro_dps
      columns[3 + axis]![row] = vehicle.gyroRaw_dps[axis]!
      columns[6 + axis]![row] = vehicle.setpoint_dps[axis]!
      columns[9 + axis]![row] = heard[axis]!
    }
    columns[12]![row] = heard[3]!
    for (let motor = 0; motor < 4; motor++) columns[13 + motor]![row] = vehicle.commands[motor]!
    columns[17]![row] = vehicle.battery.voltage_V
    for (let axis = 0; axis < 3; axis++) {
      const controller = vehicle.controllers[axis]!
      columns[18 + axis]![row] = controller.pTerm
      columns[21 + axis]![row] = controller.iTerm
      columns[24 + axis]![row] = controller.dTerm
      columns[27 + axis]![row] = controller.feedForward
    }
    for (let motor = 0; motor < 4; motor++) columns[30 + motor]![row] = vehicle.motors.speed_revps[motor]!
  }

  /** Half as many rows again: fresh memory is dear, so no flight starts with room for the longest. */
  private grow(): void {
    const rows = Math.ceil(this.t_s.length * 1.5)
    const t_s = new Float64Array(rows)
    t_s.set(this.t_s)
    this.t_s = t_s
    this.columns = this.columns.map((column) => {
      const larger = new Float32Array(rows)
      larger.set(column)
      return larger
    })
  }

  watch(t_s: number, vehicle: Vehicle): void {
    const height_m = vehicle.body.height_m
    if (height_m > this.highest_m) this.highest_m = height_m
    const flying = height_m > 0
    let top = false
    let idle = false
    for (let motor = 0; motor < 4; motor++) {
      const command = vehicle.commands[motor]!
      if (command >= this.tune.top) top = true
      if (command <= this.tune.idle) idle = true
    }
    this.saturated.watch(t_s, vehicle.saturated)
    this.atTop.watch(t_s, flying && top)
    this.atIdle.watch(t_s, flying && idle)
  }

  finish(end_s: number, manoeuvres: readonly FlownManoeuvre[], disturbance: Disturbance): FlightRecord {
    for (const recorder of [this.saturated, this.atTop, this.atIdle]) recorder.finish(end_s)
    const rows = this.rows
    const cut = this.columns.map((column) => column.subarray(0, rows))
    return {
      rows,
      t_s: this.t_s.subarray(0, rows),
      gyro_dps: cut.slice(0, 3),
      gyroRaw_dps: cut.slice(3, 6),
      setpoint_dps: cut.slice(6, 9),
      stick: cut.slice(9, 12),
      throttle: cut[12]!,
      motor: cut.slice(13, 17),
      voltage_V: cut[17]!,
      pTerm: cut.slice(18, 21),
      iTerm: cut.slice(21, 24),
      dTerm: cut.slice(24, 27),
      feedForward: cut.slice(27, 30),
      speed_revps: cut.slice(30, 34),
      manoeuvres,
      knocks: disturbance.knocks,
      washSpans: disturbance.washSpans,
      saturated: this.saturated.spans,
      atTop: this.atTop.spans,
      atIdle: this.atIdle.spans,
      highest_m: this.highest_m,
    }
  }
}
