import type { Battery } from './craft.ts'

/** Share of shaft power in the electrical power: a round figure (common practice, no source). */
const EFFICIENCY = 0.75
/** What the electronics draw, A. */
const ELECTRONICS_A = 0.8
/** Capacitors and wiring keep the voltage from jumping. */
const SETTLE_S = 0.01

/** The battery: voltage falls with the charge drawn and sags under load. */
export class BatteryState {
  private readonly battery: Battery
  private readonly step_s: number
  /** [voltage in V, charge used in Ah] */
  private readonly state = new Float64Array(2)

  /** `used`: share of the capacity already drawn at the start. */
  constructor(battery: Battery, rate_hz: number, used: number) {
    this.battery = battery
    this.step_s = 1 / rate_hz
    this.state[1] = used * battery.capacity_Ah
    this.state[0] = this.open_V()
  }

  get voltage_V(): number {
    return this.state[0]!
  }

  /** Share of the nominal voltage. */
  get share(): number {
    return this.state[0]! / (this.battery.cells * this.battery.nominal_V)
  }

  /** `steps` steps of integration under this mechanical power on the shafts, in W. */
  draw(power_W: number, steps: number): void {
    const state = this.state
    const duration_s = steps * this.step_s
    const current_A = power_W / EFFICIENCY / Math.max(1, state[0]!) + ELECTRONICS_A
    state[1] = state[1]! + (current_A * duration_s) / 3600
    const loaded = this.open_V() - current_A * this.battery.resistance_ohm
    state[0] = state[0]! + (loaded - state[0]!) * Math.min(1, duration_s / SETTLE_S)
  }

  private open_V(): number {
    const { cells, full_V, empty_V, capacity_Ah } = this.battery
    const used = Math.min(1, this.state[1]! / capacity_Ah)
    return cells * (full_V + (empty_V - full_V) * used)
  }
}
