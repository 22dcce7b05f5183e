import { AXES } from '../flight/axes.ts'
import { Problem } from '../log/problems.ts'
import { boundOf, boundWords } from './bounds.ts'
import { fullThrust_N, hoverCommand } from './craft.ts'
import type { FlightSetup } from './flight.ts'
import { hoverPoint, linearPlant } from './linear.ts'
import { PILOT_RATE_HZ } from './moves.ts'
import { GRAVITY_MPS2 } from './propeller.ts'
import { blameForInstability, isStable } from './stability.ts'

/** Hovering may take this much of the motors' range; above it nothing is left to steer with. */
const MOST_HOVER = 0.85

/**
 * Throws a Problem ('bad-request') with one sentence that names the parameter and its bounds when a setup can't
 * be flown: a number out of bounds, rates that don't fit each other, a craft too heavy for its motors, or a
 * tune whose loop does not settle.
 */
export function checkSetup(setup: FlightSetup): void {
  checkNumbers(setup, '')
  checkRates(setup)
  checkAirframe(setup)
  checkStability(setup)
}

function refuse(sentence: string): never {
  throw new Problem('bad-request', sentence)
}

function checkNumbers(value: unknown, path: string): void {
  if (typeof value === 'number') {
    const limits = boundOf(path)
    if (limits === undefined) return
    const kind = limits.whole === true ? 'a whole number ' : ''
    const fits =
      value >= limits.low && value <= limits.high && (limits.whole !== true || Number.isInteger(value))
    if (!fits) refuse(`${path} is ${value}; it must be ${kind}${boundWords(limits)}.`)
  } else if (typeof value === 'object' && value !== null && path !== 'orders')
    for (const [name, part] of Object.entries(value))
      checkNumbers(part, path === '' ? name : `${path}.${name}`)
}

function checkRates({ tune, rate_hz, logRate_hz }: FlightSetup): void {
  if (!Number.isInteger(rate_hz / PILOT_RATE_HZ))
    refuse(`rate_hz is ${rate_hz}; it must be a multiple of ${PILOT_RATE_HZ} Hz between 8000 and 64000 Hz.`)
  if (!Number.isInteger(rate_hz / tune.controlRate_hz))
    refuse(
      `tune.controlRate_hz is ${tune.controlRate_hz}; it must divide rate_hz, ${rate_hz} Hz, without a rest.`,
    )
  if (logRate_hz > rate_hz) refuse(`logRate_hz is ${logRate_hz}; it must be between 100 and ${rate_hz} Hz.`)
  const most_hz = 0.45 * tune.controlRate_hz
  const corners: [string, number | null][] = [
    ['tune.gyroLowPass.f_hz', tune.gyroLowPass?.f_hz ?? null],
    ['tune.dLowPass_hz', tune.dLowPass_hz],
    ['tune.stickSmoothing_hz', tune.stickSmoothing_hz],
    ...tune.notches.map((one, index): [string, number] => [`tune.notches.${index}.f_hz`, one.f_hz]),
  ]
  for (const [name, f_hz] of corners)
    if (f_hz !== null && f_hz > most_hz)
      refuse(`${name} is ${f_hz}; it must be below 0.45 of the control rate, ${most_hz} Hz.`)
}

function checkAirframe({ craft, tune }: FlightSetup): void {
  if (tune.top - tune.idle < 0.1)
    refuse(
      `tune.top is ${tune.top}; it must be between ${short(tune.idle + 0.1)} and 1 with an idle of ${tune.idle}.`,
    )
  const { inertia_kgm2: inertia, battery } = craft
  for (const axis of AXES) {
    const [one, other] = AXES.filter((candidate) => candidate !== axis)
    const most = inertia[one!] + inertia[other!]
    if (inertia[axis] > most)
      refuse(
        `craft.inertia_kgm2.${axis} is ${inertia[axis]}; no rigid body has more than the other two axes together, ${short(most)} kg m^2.`,
      )
  }
  if (battery.empty_V >= battery.full_V)
    refuse(
      `craft.battery.empty_V is ${battery.empty_V}; it must be below craft.battery.full_V, ${battery.full_V} V.`,
    )
  const hover = hoverCommand(craft)
  const most = tune.idle + MOST_HOVER * (tune.top - tune.idle)
  if (hover > most) {
    // Hovering thrust at the highest command that leaves room to steer gives the heaviest mass.
    const heaviest = heaviestMass_kg(craft, most)
    refuse(
      `craft.mass_kg is ${craft.mass_kg}; these motors and propellers carry between 0.02 and ${short(heaviest)} kg and can still steer.`,
    )
  }
}

function heaviestMass_kg(craft: FlightSetup['craft'], command: number): number {
  let low = 0
  let high = (4 * fullThrust_N(craft)) / GRAVITY_MPS2
  for (let round = 0; round < 50; round++) {
    const middle = (low + high) / 2
    if (hoverCommand({ ...craft, mass_kg: middle }) <= command) low = middle
    else high = middle
  }
  return low
}

function checkStability({ craft, tune, rate_hz }: FlightSetup): void {
  for (const axis of AXES) {
    const plant = linearPlant(craft, axis, hoverPoint(craft), rate_hz)
    if (isStable(tune, axis, plant, rate_hz)) continue
    const { gain, value, limit } = blameForInstability(tune, axis, plant, rate_hz)
    const name = `tune.axes.${axis}.${gain}`
    if (limit === 0)
      refuse(`${name} is ${value} and the ${axis} loop is unstable; several of its gains are too high.`)
    refuse(
      `${name} is ${value} and the loop is unstable; with the other settings it must be between 0 and ${short(limit)}.`,
    )
  }
}

/** Three digits, without the dust of binary fractions. */
function short(value: number): string {
  return String(Number(value.toPrecision(3)))
}
