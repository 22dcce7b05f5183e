import { describe, expect, test } from 'vitest'
import { AXES, type Axis } from '../../../workers/flight/axes.ts'
import {
  fullThrust_N,
  fullTorque_Nm,
  hoverCommand,
  LANTERN,
  speedShare,
  type Craft,
} from '../../../workers/model/craft.ts'
import { GyroNoise } from '../../../workers/model/gyro.ts'
import { LANTERN_TUNE, type Tune } from '../../../workers/model/tune.ts'
import { Vehicle } from '../../../workers/model/vehicle.ts'

const RATE_HZ = 8000
const DEGREES = 180 / Math.PI

function hovering(craft: Craft, tune: Tune, onStand: boolean): Vehicle {
  const startThrottle = (hoverCommand(craft) - tune.idle) / (tune.top - tune.idle)
  return new Vehicle(craft, tune, { rate_hz: RATE_HZ, onStand, startThrottle })
}

const run = (vehicle: Vehicle, seconds: number) => {
  for (let step = 0; step < seconds * RATE_HZ; step++) vehicle.step()
}

describe('laws', () => {
  test('zero setpoint and no noise: nothing ever turns, on the stand or in the air', () => {
    for (const onStand of [true, false]) {
      const vehicle = hovering(LANTERN, LANTERN_TUNE, onStand)
      run(vehicle, 3)
      expect([...vehicle.body.rate_radps]).toEqual([0, 0, 0])
      expect([...vehicle.gyroRaw_dps]).toEqual([0, 0, 0])
      expect([...vehicle.body.attitude]).toEqual([1, 0, 0, 0])
    }
  })

  test('at hovering throttle and nominal voltage the craft neither climbs nor falls', () => {
    const { battery } = LANTERN
    const nominal = {
      ...battery,
      full_V: battery.nominal_V,
      empty_V: battery.nominal_V - 1e-9,
      resistance_ohm: 0,
    }
    const vehicle = hovering({ ...LANTERN, battery: nominal }, LANTERN_TUNE, false)
    vehicle.body.velocity_mps[2] = -1e-9
    run(vehicle, 0.5)
    expect(Math.abs(vehicle.body.velocity_mps[2]!)).toBeLessThan(1e-3)
  })

  // Newton: the same torque on twice the inertia. Before the gyro has moved, the loop gives the same torque.
  test.each(AXES)('doubling inertia halves the acceleration of %s in the linear range', (axis) => {
    const tune: Tune = { ...LANTERN_TUNE, gyroLowPass: null, notches: [] }
    const rateAfter = (craft: Craft) => {
      const vehicle = hovering({ ...craft, damping_Nms: { roll: 0, pitch: 0, yaw: 0 } }, tune, true)
      vehicle.setpoint_dps[AXES.indexOf(axis)] = 1
      run(vehicle, 0.003)
      return vehicle.body.rate_radps[AXES.indexOf(axis)]!
    }
    const doubled = { ...LANTERN.inertia_kgm2, [axis]: 2 * LANTERN.inertia_kgm2[axis] }
    const ratio = rateAfter(LANTERN) / rateAfter({ ...LANTERN, inertia_kgm2: doubled })
    expect(rateAfter(LANTERN)).toBeGreaterThan(0)
    expect(ratio).toBeCloseTo(2, 1)
  })

  test('equal steps left and right give equal answers of opposite sign', () => {
    const answer = (step_dps: number) => {
      const vehicle = hovering(LANTERN, LANTERN_TUNE, true)
      vehicle.setpoint_dps[0] = step_dps
      run(vehicle, 0.05)
      return vehicle.body.rate_radps[0]!
    }
    expect(answer(-50)).toBeCloseTo(-answer(50), 12)
  })

  test('a small step scales: the loop is linear off the limits', () => {
    const answer = (step_dps: number) => {
      const vehicle = hovering(LANTERN, LANTERN_TUNE, true)
      vehicle.setpoint_dps[1] = step_dps
      run(vehicle, 0.03)
      return vehicle.body.rate_radps[1]! / step_dps
    }
    expect(answer(2) / answer(1)).toBeCloseTo(1, 2)
  })

  test('without torque a spinning body keeps its angular momentum and energy', () => {
    const vehicle = hovering({ ...LANTERN, damping_Nms: { roll: 0, pitch: 0, yaw: 0 } }, stillTune(), true)
    const { body } = vehicle
    const inertia = AXES.map((axis) => LANTERN.inertia_kgm2[axis])
    body.rate_radps.set([3, 1, 2])
    const energy = () => body.rate_radps.reduce((sum, w, axis) => sum + inertia[axis]! * w * w, 0)
    const momentum = () => Math.hypot(...body.rate_radps.map((w, axis) => w * inertia[axis]!))
    const [energyBefore, momentumBefore] = [energy(), momentum()]
    run(vehicle, 2)
    expect(energy() / energyBefore).toBeCloseTo(1, 2)
    expect(momentum() / momentumBefore).toBeCloseTo(1, 2)
    expect(body.rate_radps[0]).not.toBeCloseTo(3, 1)
  })
})

/** A controller that asks for nothing. */
function stillTune(): Tune {
  const none = { p: 0, i: 0, d: 0, feedForward: 0, windupLimit: 0 }
  return { ...LANTERN_TUNE, axes: { roll: none, pitch: none, yaw: none } }
}

describe('limits bind where the algebra says', () => {
  // Two motors at the top, two at idle: torque = arm * 2 (T_top - T_idle), after the motors have settled.
  const force: Record<'roll' | 'pitch', number> = { roll: LANTERN.armSide_m, pitch: LANTERN.armForward_m }
  test.each(['roll', 'pitch'] as const)(
    'a demand without bounds turns %s as fast as full against idle can',
    (axis) => {
      const index = AXES.indexOf(axis)
      const tune = eager(axis)
      const craft: Craft = { ...LANTERN, damping_Nms: { roll: 0, pitch: 0, yaw: 0 } }
      const vehicle = hovering(craft, tune, true)
      vehicle.setpoint_dps[index] = 1e6
      run(vehicle, 0.2)
      const before = vehicle.body.rate_radps[index]!
      run(vehicle, 0.02)
      const acceleration = (vehicle.body.rate_radps[index]! - before) / 0.02
      const top = fullThrust_N(craft) * speedShare(craft.motor, tune.top, 1) ** 2
      const idle = fullThrust_N(craft) * speedShare(craft.motor, tune.idle, 1) ** 2
      const expected = (2 * force[axis] * (top - idle)) / craft.inertia_kgm2[axis]
      expect(acceleration / expected).toBeCloseTo(1, 3)
      expect(vehicle.saturated).toBe(true)
    },
  )

  test('yaw by drag torque alone once the rotors have settled', () => {
    const tune = eager('yaw')
    const craft: Craft = { ...LANTERN, damping_Nms: { roll: 0, pitch: 0, yaw: 0 } }
    const vehicle = hovering(craft, tune, true)
    vehicle.setpoint_dps[2] = 1e6
    run(vehicle, 0.3)
    const before = vehicle.body.rate_radps[2]!
    run(vehicle, 0.02)
    const top = fullTorque_Nm(craft) * speedShare(craft.motor, tune.top, 1) ** 2
    const idle = fullTorque_Nm(craft) * speedShare(craft.motor, tune.idle, 1) ** 2
    const expected = (2 * (top - idle)) / craft.inertia_kgm2.yaw
    expect((vehicle.body.rate_radps[2]! - before) / 0.02 / expected).toBeCloseTo(1, 3)
  })

  test('the gathered error stops at its limit', () => {
    const gains = { p: 0, i: 50, d: 0, feedForward: 0, windupLimit: 0.1 }
    const tune: Tune = { ...LANTERN_TUNE, axes: { ...stillTune().axes, roll: gains } }
    // An airframe too heavy to answer lets the error run on.
    const vehicle = hovering({ ...LANTERN, inertia_kgm2: { roll: 10, pitch: 10, yaw: 10 } }, tune, true)
    vehicle.setpoint_dps[0] = 200
    run(vehicle, 1)
    const share =
      (vehicle.commands[2]! + vehicle.commands[3]! - vehicle.commands[0]! - vehicle.commands[1]!) / 4
    expect(share).toBeCloseTo(0.1, 9)
  })

  test('the gyro clips at its full scale', () => {
    const vehicle = hovering(LANTERN, stillTune(), true)
    vehicle.body.rate_radps[0] = 3000 / DEGREES
    vehicle.step()
    expect(vehicle.gyroRaw_dps[0]).toBe(2000)
  })
})

function eager(axis: Axis): Tune {
  const gains = { ...stillTune().axes[axis], p: 100 }
  return { ...LANTERN_TUNE, axes: { ...stillTune().axes, [axis]: gains } }
}

describe('what the gyro adds', () => {
  const rate_hz = 4000
  const count = 16000
  function linesOf(speeds: readonly number[], craft: Craft): (f_hz: number) => number {
    const noise = new GyroNoise(craft, rate_hz, 1, 3)
    const speed = Float64Array.from(speeds)
    const samples = Float64Array.from({ length: count }, () => {
      noise.step(speed)
      return noise.noise_dps[0]!
    })
    // Power of one frequency over whole cycles: amplitude^2 / 2.
    return (f_hz) => {
      let re = 0
      let im = 0
      for (let index = 0; index < count; index++) {
        const angle = (2 * Math.PI * f_hz * index) / rate_hz
        re += samples[index]! * Math.cos(angle)
        im += samples[index]! * Math.sin(angle)
      }
      return (2 * (re * re + im * im)) / (count * count)
    }
  }
  const quiet = { ...LANTERN.vibration, gyroNoise_dpsrtHz: 0, resonanceGain: 0 }
  const craft: Craft = { ...LANTERN, vibration: quiet }

  test('lines stand at n/60 and its multiples and nowhere else', () => {
    // 9000, 12,600, 15,000 and 19,800 rpm: no multiple of one meets another.
    const speeds = [150, 210, 250, 330]
    const power = linesOf(speeds, craft)
    speeds.forEach((speed, motor) => {
      const size = quiet.imbalance_dps[motor]! * (speed / LANTERN.motor.fullSpeed_revps) ** 2
      expect(power(speed)).toBeGreaterThan(0.99 * (size ** 2 / 2))
    })
    for (const f_hz of [60, 125, 175, 225, 275, 360, 1700]) expect(power(f_hz)).toBeLessThan(1e-12)
    for (const f_hz of [300, 420, 500, 660])
      expect(power(f_hz), `second harmonic ${f_hz}`).toBeGreaterThan(0.001)
    for (const f_hz of [450, 630, 750, 990]) expect(power(f_hz), `blades ${f_hz}`).toBeGreaterThan(0.001)
  })

  test('a line grows with the square of speed: four times as strong, sixteen times the power', () => {
    const single: Craft = { ...craft, vibration: { ...quiet, imbalance_dps: [10, 0, 0, 0] } }
    expect(
      linesOf([300, 300, 300, 300], single)(300) / linesOf([150, 150, 150, 150], single)(150),
    ).toBeCloseTo(16, 6)
  })

  test('broadband noise has the density it was given', () => {
    const bare = { ...quiet, imbalance_dps: [0, 0, 0, 0] as const, gyroNoise_dpsrtHz: 0.02 }
    const noise = new GyroNoise({ ...LANTERN, vibration: bare }, rate_hz, 1, 5)
    const speed = Float64Array.of(200, 200, 200, 200)
    let sum = 0
    const draws = 200000
    for (let index = 0; index < draws; index++) {
      noise.step(speed)
      sum += noise.noise_dps[2]! ** 2
    }
    // Variance = density^2 * bandwidth; five standard errors.
    const expected = 0.02 ** 2 * (rate_hz / 2)
    expect(Math.abs(sum / draws / expected - 1)).toBeLessThan(5 * Math.sqrt(2 / draws))
  })

  test('no level, no noise', () => {
    const noise = new GyroNoise(LANTERN, rate_hz, 0, 5)
    for (let index = 0; index < 100; index++) noise.step(Float64Array.of(200, 210, 190, 205))
    expect([...noise.noise_dps]).toEqual([0, 0, 0])
  })
})
