/** A made flight as columns in canonical units, for naming tests: a gyro that follows its setpoint 12 ms late. */
export const ROWS = 6000
export const RATE_HZ = 500

/** Small seeded generator (mulberry32), uniform in 0..1. */
export function seeded(seed: number): () => number {
  let state = seed
  return () => {
    state = (state + 0x6d2b79f5) | 0
    let mixed = Math.imul(state ^ (state >>> 15), 1 | state)
    mixed = (mixed + Math.imul(mixed ^ (mixed >>> 7), 61 | mixed)) ^ mixed
    return ((mixed ^ (mixed >>> 14)) >>> 0) / 4294967296
  }
}

/** Smooth random movement of the given size: a random walk pulled to zero, filtered twice. */
function wander(random: () => number, size: number, slow: number): Float64Array {
  const out = new Float64Array(ROWS)
  let aim = 0
  let first = 0
  let second = 0
  for (let row = 0; row < ROWS; row += 1) {
    if (random() < 1 / 150) aim = random() < 0.4 ? 0 : (2 * random() - 1) * size
    first += (aim - first) * slow
    second += (first - second) * slow
    out[row] = second
  }
  return out
}

/** The error added up, share. */
function gathered(setpoint: Float64Array, gyro: Float64Array): Float64Array {
  let sum = 0
  return setpoint.map((value, row) => (sum += (1e-3 * (value - (gyro[row] as number))) / RATE_HZ))
}

/** The slope over five samples times a gain. */
function slope(values: Float64Array, gain: number): Float64Array {
  return values.map((value, row) => (gain * RATE_HZ * (value - (values[Math.max(0, row - 5)] as number))) / 5)
}

export type Signals = Readonly<Record<string, Float64Array>>

/**
 * Signals by name: time (s), gyro.*, setpoint.* (deg/s), stick.* (-1..1), throttle, motor.1-4 (0..1),
 * unfiltered.* (a noisier gyro), pTerm.*, iTerm.*, dTerm.*, feedForward.* (shares), speed.1-4 (rpm), battery (V), and decoys:
 * angle.* (deg), anglesetpoint.*, acc.* (g), bias.*, place.* (m), volt (of something), index, wanted.1-4 (rpm),
 * heat.1-4, current.1-4 (of motors), second.* (another gyro, loosely mounted).
 */
export function inventedFlight(seed = 7): Signals {
  const random = seeded(seed)
  const noise = (size: number): number => (random() + random() + random() - 1.5) * 2 * size
  const signals: Record<string, Float64Array> = {}
  signals['time'] = Float64Array.from({ length: ROWS }, (_, row) => row / RATE_HZ)
  signals['index'] = Float64Array.from({ length: ROWS }, (_, row) => 1000 + row)
  for (const [axis, size] of [
    ['roll', 400],
    ['pitch', 350],
    ['yaw', 150],
  ] as const) {
    const setpoint = wander(random, size, 0.06)
    const gyro = new Float64Array(ROWS)
    const raw = new Float64Array(ROWS)
    const angle = new Float64Array(ROWS)
    let turned = 0
    for (let row = 0; row < ROWS; row += 1) {
      const late = setpoint[Math.max(0, row - 6)] as number
      gyro[row] = 0.95 * late + noise(3)
      raw[row] = (gyro[row] as number) + noise(12)
      turned = 0.995 * turned + (gyro[row] as number) / RATE_HZ
      angle[row] = turned
    }
    Object.assign(signals, {
      [`setpoint.${axis}`]: setpoint,
      [`gyro.${axis}`]: gyro,
      [`unfiltered.${axis}`]: raw,
      [`second.${axis}`]: setpoint.map(
        (_, row) => 0.4 * (gyro[Math.max(0, row - 40)] as number) + noise(200),
      ),
      [`angle.${axis}`]: angle,
      [`anglesetpoint.${axis}`]: wander(random, 30, 0.02),
      [`stick.${axis}`]: setpoint.map((value) => Math.cbrt(value / 800) * 0.8),
      [`acc.${axis}`]: Float64Array.from({ length: ROWS }, () => noise(0.2) + (axis === 'yaw' ? 1 : 0)),
      [`bias.${axis}`]: Float64Array.from({ length: ROWS }, (_, row) => 0.1 + row * 1e-6),
      [`pTerm.${axis}`]: setpoint.map((value, row) => 0.0012 * (value - (gyro[row] as number))),
      [`iTerm.${axis}`]: gathered(setpoint, gyro),
      [`dTerm.${axis}`]: slope(gyro, -2e-5),
      [`feedForward.${axis}`]: slope(setpoint, 4e-5),
      [`place.${axis}`]: wander(random, 3, 0.01),
    })
  }
  const throttle = wander(random, 0.35, 0.04).map((value) => 0.45 + value)
  signals['throttle'] = throttle
  for (const motor of [1, 2, 3, 4]) {
    signals[`motor.${motor}`] = throttle.map((value) => Math.min(1, Math.max(0, value + noise(0.08))))
    signals[`wanted.${motor}`] = throttle.map((value) => 4000 + 22_000 * value)
    signals[`heat.${motor}`] = throttle.map((value, row) => 40 + row / 500 + 2 * value)
    signals[`current.${motor}`] = throttle.map((value) => 30 * value)
    signals[`speed.${motor}`] = (signals[`motor.${motor}`] as Float64Array).map(
      (value) => 4000 + 22_000 * value + noise(100),
    )
  }
  signals['battery'] = Float64Array.from({ length: ROWS }, (_, row) => 16.4 - row / 10_000 + noise(0.02))
  signals['volt'] = (signals['battery'] as Float64Array).slice()
  return signals
}
