import { describe, expect, test } from 'vitest'
import {
  commandForSpeed,
  fullThrust_N,
  hoverCommand,
  hoverInducedSpeed_mps,
  LANTERN,
  speedShare,
} from '../../../workers/model/craft.ts'
import {
  discArea_m2,
  electrical_rpm,
  inducedSpeed_mps,
  motorLines_hz,
  speedForThrust_revps,
  thrust_N,
  torque_Nm,
} from '../../../workers/model/propeller.ts'

const five = { ...LANTERN.propeller, diameter_m: 5 * 0.0254 }
const six = { ...five, diameter_m: 6 * 0.0254 }

// Method.md section 9: computed there from the similarity laws (McCormick, from memory).
describe('propeller similarity, 5 to 6 inch at the same shape', () => {
  test('disc area, thrust and torque at the same speed', () => {
    expect(discArea_m2(six) / discArea_m2(five)).toBeCloseTo(1.44, 12)
    expect(thrust_N(six, 300) / thrust_N(five, 300)).toBeCloseTo(2.0736, 12)
    expect(torque_Nm(six, 300) / torque_Nm(five, 300)).toBeCloseTo(2.48832, 12)
  })

  test('the same thrust at .6944 of the speed', () => {
    const share = speedForThrust_revps(six, 2) / speedForThrust_revps(five, 2)
    expect(share).toBeCloseTo(0.6944, 4)
  })

  test('thrust and torque go with the square of speed', () => {
    expect(thrust_N(five, 400) / thrust_N(five, 200)).toBeCloseTo(4, 12)
    expect(torque_Nm(five, 400) / torque_Nm(five, 200)).toBeCloseTo(4, 12)
  })
})

test('24,000 rpm: 400 Hz, three blades 1200 Hz, seven pole pairs 168,000 electrical rpm', () => {
  const lines = motorLines_hz(24000, five, 3)
  expect(lines.rotation).toBe(400)
  expect(lines.harmonics).toEqual([400, 800, 1200])
  expect(lines.bladePass).toBe(1200)
  expect(electrical_rpm(24000, 7)).toBe(168000)
})

describe('the craft', () => {
  test('hovers where four motors carry its weight', () => {
    const share = speedShare(LANTERN.motor, hoverCommand(LANTERN), 1)
    expect(4 * fullThrust_N(LANTERN) * share * share).toBeCloseTo(LANTERN.mass_kg * 9.80665, 9)
  })

  test('speed over command and its inverse agree, at any voltage', () => {
    for (const voltage of [0.8, 1, 1.1])
      for (const command of [0.05, 0.3, 0.7, 1])
        expect(
          commandForSpeed(LANTERN.motor, speedShare(LANTERN.motor, command, voltage), voltage),
        ).toBeCloseTo(command, 12)
  })

  test('a sagging battery costs speed', () => {
    expect(speedShare(LANTERN.motor, 1, 0.85)).toBeLessThan(speedShare(LANTERN.motor, 1, 1))
    expect(speedShare(LANTERN.motor, 1, 1)).toBeCloseTo(1, 12)
  })

  test('air speed through four rotors is that of one rotor with a quarter of the weight', () => {
    const quarter = (LANTERN.mass_kg * 9.80665) / 4
    expect(hoverInducedSpeed_mps(LANTERN)).toBeCloseTo(inducedSpeed_mps(quarter, LANTERN.propeller), 9)
  })
})
