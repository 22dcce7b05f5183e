import { AXES } from '../flight/axes.ts'
import type { Craft } from './craft.ts'
import { Disturbance, type Knock, type Trouble, type WashSpan, type Weather } from './disturbance.ts'
import { GyroNoise } from './gyro.ts'
import { LinkState, Smoother, type Link } from './link.ts'
import type { FlownManoeuvre, ManoeuvreOrder } from './manoeuvre.ts'
import { Pilot, PILOT_RATE_HZ, type PilotStyle } from './pilot.ts'
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
  readonly manoeuvres: readonly FlownManoeuvre[]
  readonly knocks: readonly Knock[]
  readonly washSpans: readonly WashSpan[]
  /** Spans in which the demand did not fit into the motors' range. */
  readonly saturated: readonly { readonly start_s: number; readonly end_s: number }[]
  /** Height over the ground at its highest, m, and voltage at the end, V: to judge a flight by. */
  readonly highest_m: number
}

/** Two spans of saturation closer than this are one. */
const SATURATION_JOIN_S = 0.01

/** Flies a flight. Same setup, same record to the last bit. */
export function simulateFlight(setup: FlightSetup): FlightRecord {
  const { craft, tune, rate_hz } = setup
  const disturbance = new Disturbance(
    craft,
    setup.weather,
    setup.trouble,
    rate_hz,
    setup.seed,
    setup.longest_s,
  )
  const gyroNoise =
    setup.noise > 0 ? new GyroNoise(craft, tune.controlRate_hz, setup.noise, setup.seed) : null
  const vehicle = new Vehicle(craft, tune, {
    rate_hz,
    batteryUsed: setup.batteryUsed,
    disturbance,
    gyroNoise,
  })
  const pilot = new Pilot(craft, tune, setup.orders, setup.pilot, setup.seed)
  const link = new LinkState(setup.link, setup.seed)
  const smoothers = AXES.map(() => new Smoother(tune.stickSmoothing_hz, tune.controlRate_hz))
  const curves = AXES.map((axis) => tune.curves[axis])
  const log = new Recorder(Math.ceil(setup.longest_s * setup.logRate_hz) + 1)
  const pilotEvery = rate_hz / PILOT_RATE_HZ
  const controlEvery = rate_hz / tune.controlRate_hz
  const logEvery = rate_hz / setup.logRate_hz
  const steps = Math.floor(setup.longest_s * rate_hz)
  let nextLog = 0
  let highest = 0
  for (let step = 0; step < steps && !pilot.done; step++) {
    const t_s = step / rate_hz
    if (step % pilotEvery === 0) {
      pilot.step(t_s, vehicle.body)
      if (vehicle.body.height_m > highest) highest = vehicle.body.height_m
    }
    link.step(t_s, pilot.sticks)
    if (step % controlEvery === 0) {
      for (let axis = 0; axis < 3; axis++) {
        const smooth = smoothers[axis]!.step(link.heard[axis]!)
        vehicle.setpoint_dps[axis] = setpoint_dps(curves[axis]!, smooth)
      }
      vehicle.throttle = link.heard[3]!
    }
    vehicle.step()
    if (vehicle.controlled) log.watch(t_s, vehicle.saturated)
    if (step >= nextLog) {
      log.row(t_s, vehicle, link.heard)
      nextLog += logEvery
    }
  }
  const end_s = vehicle.t_s
  disturbance.finish(end_s)
  return log.finish(end_s, pilot.flown, disturbance, highest)
}

/** Gathers the rows. */
class Recorder {
  private rows = 0
  private readonly t_s: Float64Array
  /** Gyro, raw gyro, setpoint, stick (3 each), throttle, motors (4), voltage. */
  private readonly columns: Float32Array[]
  private readonly saturated: { start_s: number; end_s: number }[] = []
  private saturatedFrom = -1

  constructor(mostRows: number) {
    this.t_s = new Float64Array(mostRows)
    this.columns = Array.from({ length: 18 }, () => new Float32Array(mostRows))
  }

  row(t_s: number, vehicle: Vehicle, heard: Float64Array): void {
    const row = this.rows++
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
  }

  watch(t_s: number, saturated: boolean): void {
    if (saturated === this.saturatedFrom >= 0) return
    if (saturated) this.saturatedFrom = t_s
    else this.closeSpan(t_s)
  }

  private closeSpan(t_s: number): void {
    const last = this.saturated.at(-1)
    if (last !== undefined && this.saturatedFrom - last.end_s < SATURATION_JOIN_S) last.end_s = t_s
    else this.saturated.push({ start_s: this.saturatedFrom, end_s: t_s })
    this.saturatedFrom = -1
  }

  finish(
    end_s: number,
    manoeuvres: readonly FlownManoeuvre[],
    disturbance: Disturbance,
    highest_m: number,
  ): FlightRecord {
    if (this.saturatedFrom >= 0) this.closeSpan(end_s)
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
      manoeuvres,
      knocks: disturbance.knocks.filter((knock) => knock.t_s < end_s),
      washSpans: disturbance.washSpans,
      saturated: this.saturated,
      highest_m,
    }
  }
}
