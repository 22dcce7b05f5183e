import { inStretches } from '../signal/stretches.ts'
import { given, refused, type Result } from '../signal/result.ts'

/** Which commands stood at a limit. */
export interface MotorLimits {
  /** The highest and lowest command that the motors are given, as found; null when they never stand there. */
  readonly top: number | null
  readonly idle: number | null
  /** Smallest step between two commands. */
  readonly step: number
  /** 1 where any motor is within one step of the limit. */
  readonly atTop: Uint8Array
  readonly atIdle: Uint8Array
}

export const HEADROOM_METHOD = { id: 'headroom', version: 1 }

/** An extreme counts as a limit when commands come to stand at it at least so often, each time for so many samples. */
const LEAST_VISITS = 3
const LEAST_STAY = 3

/**
 * Finds the limits of the motors' commands (shares 0..1) and where any motor stands within one step of them. A limit
 * is the highest (lowest) value of all motors when commands come to stand at it at least three times; a full 1 or an empty
 * 0 always is one. The step is the smallest difference between commands that occur, no finer than 1/4096. NaN takes no part.
 */
export function motorLimits(motors: readonly ArrayLike<number>[]): MotorLimits {
  const length = motors[0]?.length ?? 0
  for (const motor of motors) {
    if (motor.length !== length) throw new Error(`motors differ in length: ${length} and ${motor.length}`)
  }
  const commands = motors.map((motor) => (motor instanceof Float32Array ? motor : Float32Array.from(motor)))
  const stretches = commands.flatMap(rangesOf)
  const low = stretches.reduce((least, one) => Math.min(least, one.low), Infinity)
  const high = stretches.reduce((most, one) => Math.max(most, one.high), -Infinity)
  const step = commandStep(commands)
  const moves = high - low > 4 * step
  const top = moves && (high >= 1 - step || stands(stretches, high)) ? high : null
  const idle = moves && (low <= step || stands(stretches, low)) ? low : null
  const atTop = new Uint8Array(length)
  const atIdle = new Uint8Array(length)
  // A hair more than a step: commands are 32-bit numbers.
  const topEdge = (top ?? Infinity) - 1.01 * step
  const idleEdge = (idle ?? -Infinity) + 1.01 * step
  for (const { motor, from, to, low, high } of stretches) {
    if (high >= topEdge) markAbove(atTop, motor, topEdge, from, to)
    if (low <= idleEdge) markBelow(atIdle, motor, idleEdge, from, to)
  }
  return { top, idle, step, atTop, atIdle }
}

/** A stretch of a motor's commands, with the least and the largest: the infinities where all are NaN. */
interface Stretch {
  readonly motor: Float32Array
  readonly from: number
  readonly to: number
  readonly low: number
  readonly high: number
}

function rangesOf(motor: Float32Array): Stretch[] {
  const stretches: Stretch[] = []
  inStretches(motor.length, (from, to) => stretches.push(rangeOf(motor, from, to)))
  return stretches
}

function rangeOf(motor: Float32Array, from: number, to: number): Stretch {
  let low = Infinity
  let high = -Infinity
  for (let n = from; n < to; n++) {
    const value = motor[n]!
    if (value > high) high = value
    if (value < low) low = value
  }
  return { motor, from, to, low, high }
}

function markAbove(mask: Uint8Array, motor: Float32Array, edge: number, from: number, to: number): void {
  for (let n = from; n < to; n++) if (motor[n]! >= edge) mask[n] = 1
}

function markBelow(mask: Uint8Array, motor: Float32Array, edge: number, from: number, to: number): void {
  for (let n = from; n < to; n++) if (motor[n]! <= edge) mask[n] = 1
}

/** Do commands come to stand at the extreme `value` often enough? Only stretches that reach it are looked through. */
function stands(stretches: readonly Stretch[], value: number): boolean {
  let visits = 0
  let last: Stretch | undefined
  let n = 0
  for (const stretch of stretches) {
    if (stretch.motor !== last?.motor) n = 0
    last = stretch
    if (stretch.high !== value && stretch.low !== value) continue
    const { motor, to } = stretch
    for (n = Math.max(n, stretch.from); n < to && visits < LEAST_VISITS; n++) {
      if (motor[n] !== value) continue
      // A visit may reach into the next stretch.
      const from = n
      while (n < motor.length && motor[n] === value) n++
      if (n - from >= LEAST_STAY) visits++
    }
  }
  return visits >= LEAST_VISITS
}

const FINEST_STEP = 1 / 4096

function commandStep(motors: readonly ArrayLike<number>[]): number {
  const values = new Set<number>()
  for (const motor of motors) {
    const stride = Math.max(1, Math.floor(motor.length / 5000))
    for (let n = 0; n < motor.length; n += stride) if (Number.isFinite(motor[n]!)) values.add(motor[n]!)
  }
  const sorted = Float64Array.from(values).sort()
  let smallest = Infinity
  for (let k = 1; k < sorted.length; k++) smallest = Math.min(smallest, sorted[k]! - sorted[k - 1]!)
  return Math.max(FINEST_STEP, Number.isFinite(smallest) ? smallest : FINEST_STEP)
}

/** Share of the time of a span in which any motor stood at its limit, above and below apart. */
export interface Headroom {
  readonly atTop: Result<number>
  readonly atIdle: Result<number>
}

/** Shares over the samples from..to (not included); refuses without motors. */
export function headroom(limits: MotorLimits | null, from: number, to: number): Headroom {
  if (!limits) {
    const none = refused('No motor columns were found in this log.', { method: HEADROOM_METHOD })
    return { atTop: none, atIdle: none }
  }
  const share = (mask: Uint8Array): Result<number> => {
    const samples = Math.max(0, Math.min(to, mask.length) - from)
    if (samples === 0) return refused('The span has no samples.', { method: HEADROOM_METHOD })
    return given((100 * sumOf(mask, from, from + samples)) / samples, '%', {
      method: HEADROOM_METHOD,
      samples,
    })
  }
  return { atTop: share(limits.atTop), atIdle: share(limits.atIdle) }
}

function sumOf(mask: Uint8Array, from: number, to: number): number {
  let sum = 0
  inStretches(to - from, (start, end) => (sum += sumOfStretch(mask, from + start, from + end)))
  return sum
}

function sumOfStretch(mask: Uint8Array, from: number, to: number): number {
  let sum = 0
  for (let n = from; n < to; n++) sum += mask[n]!
  return sum
}

export type TorqueVerdict =
  | { readonly kind: 'torque-limited'; readonly start: number; readonly end: number }
  | { readonly kind: 'not shown'; readonly missing: string }

export interface TorqueQuestion {
  readonly setpoint: ArrayLike<number>
  readonly gyro: ArrayLike<number>
  /** Not 0 where a motor stands at its limit. */
  readonly atLimit: ArrayLike<number>
  readonly rate_hz: number
  readonly from: number
  readonly to: number
  /** Time constant of the motors; 0.03 s when not known. */
  readonly actuator_s?: number
}

/**
 * Was the craft short of torque in the span? Needs all three at once: a motor at its limit; the angular
 * acceleration on a plateau for three actuator time constants, its slope's 95 % interval holding 0; and a demand that
 * still asks for more (the error in the direction of the turn, and growing). Otherwise 'not shown', with what is missing.
 */
export function torqueLimited(question: TorqueQuestion): TorqueVerdict {
  const { setpoint, gyro, atLimit, rate_hz, from, to, actuator_s = 0.03 } = question
  const size = Math.max(8, Math.round(3 * actuator_s * rate_hz))
  let missing = 'no motor stands at its limit for three motor time constants'
  for (let start = from; start + size <= to; start += Math.max(1, size >> 2)) {
    const end = start + size
    let held = true
    for (let n = start; n < end && held; n++) held = atLimit[n] !== 0
    if (!held) continue
    const { constant, mean } = plateau(gyro, start, end, rate_hz)
    if (!constant) {
      if (missing.startsWith('no motor')) missing = 'the angular acceleration is not on a plateau'
      continue
    }
    const direction = Math.sign(mean)
    const first = direction * (setpoint[start]! - gyro[start]!)
    const last = direction * (setpoint[end - 1]! - gyro[end - 1]!)
    if (last > 0 && last > first) return { kind: 'torque-limited', start, end }
    missing = 'the demand does not ask for more'
  }
  return { kind: 'not shown', missing }
}

/** Is the acceleration steady and not nothing? Slope of a line through it with its 95 % interval. */
function plateau(gyro: ArrayLike<number>, start: number, end: number, rate_hz: number) {
  const cells = 8
  const size = Math.floor((end - start) / (cells + 1))
  // Means of the rate first, then differences: noise would drown the acceleration of single samples.
  const rate = Array.from({ length: cells + 1 }, (_, cell) => {
    let sum = 0
    for (let n = start + cell * size; n < start + (cell + 1) * size; n++) sum += gyro[n]!
    return sum / size
  })
  const acceleration = rate.slice(1).map((value, cell) => ((value - rate[cell]!) * rate_hz) / size)
  const mean = acceleration.reduce((sum, value) => sum + value, 0) / cells
  const middle = (cells - 1) / 2
  let moment = 0
  let spread = 0
  acceleration.forEach((value, k) => {
    moment += (k - middle) * (value - mean)
    spread += (k - middle) ** 2
  })
  const slope = moment / spread
  let residual = 0
  acceleration.forEach((value, k) => (residual += (value - mean - slope * (k - middle)) ** 2))
  const error = Math.sqrt(residual / (cells - 2) / spread)
  const meanError = Math.sqrt(residual / (cells - 2) / cells)
  // Student's t, 6 degrees of freedom, 97.5 %: 2.447.
  const flat = Math.abs(slope) <= 2.447 * error || Math.abs(slope) * cells < 0.05 * Math.abs(mean)
  return { constant: flat && Math.abs(mean) > 2.447 * meanError && mean !== 0, mean }
}

/** How much more a propeller of another diameter does at the same shape (propeller similarity; McCormick [from memory]). */
export function propellerSimilarity(diameterRatio: number) {
  return {
    discArea: diameterRatio ** 2,
    /** At the same speed: n^2 D^4 and n^2 D^5. */
    thrust: diameterRatio ** 4,
    torque: diameterRatio ** 5,
    /** Speed for the same thrust. */
    speedForSameThrust: diameterRatio ** -2,
  }
}
