import { UNITS, type UnitId } from '../units/units.ts'
import type { Sureness } from './roles.ts'

/** A unit and how it was found. */
export interface FoundUnit {
  readonly unit: UnitId
  readonly sure: Sureness
  readonly why: string
}

const RATE_UNITS = ['dps', 'radps', 'mradps', 'ddps', 'cdps'] as const
const COMMON = new Set<UnitId>(['dps', 'radps'])

/** Clues about the units of a gyro and its setpoint. Sizes are root mean squares and peaks as in the file. */
export interface RateClues {
  readonly gyroHeader: UnitId | null
  readonly setpointHeader: UnitId | null
  readonly gyroRms: number
  readonly gyroPeak: number
  readonly setpointPeak: number
  /** Size of the gyro's movement against the setpoint's; null without a setpoint or without movement. */
  readonly ratio: number | null
  /** What the slope of the attitude says about the gyro. */
  readonly fromAngles: UnitId | null
  readonly angleName: string
}

/**
 * Finds both units: the header first; then the ratio of gyro to setpoint (57.3 apart when one is in radians), then the
 * attitude's slope; the size alone last.
 */
export function findRateUnits(clues: RateClues): { gyro: FoundUnit; setpoint: FoundUnit } {
  const fromHeader = (unit: UnitId): FoundUnit => ({
    unit,
    sure: 'certain',
    why: 'the unit stands in the header',
  })
  let gyro: FoundUnit | null = clues.gyroHeader ? fromHeader(clues.gyroHeader) : null
  let setpoint: FoundUnit | null = clues.setpointHeader ? fromHeader(clues.setpointHeader) : null
  const { ratio } = clues
  if (!gyro && clues.fromAngles) {
    const label = UNITS[clues.fromAngles].label
    gyro = {
      unit: clues.fromAngles,
      sure: 'likely',
      why: `${label} because that fits the slope of ${clues.angleName}`,
    }
  }
  if (!gyro && !setpoint && ratio !== null) {
    const turn = UNITS.radps.scale
    if (Math.abs(Math.log(ratio * turn)) < 1.2) {
      const why = `rad/s because the setpoint moves ${said(1 / ratio)} times as far, and one radian is 57.3 degrees`
      gyro = { unit: 'radps', sure: 'likely', why }
    } else if (Math.abs(Math.log(ratio / turn)) < 1.2) {
      const why = `deg/s because it moves ${said(ratio)} times as far as the setpoint, and one radian is 57.3 degrees`
      gyro = { unit: 'dps', sure: 'likely', why }
    }
  }
  if (!gyro && setpoint && ratio !== null) gyro = matching(setpoint.unit, 1 / ratio, 'the setpoint')
  gyro ??= bySize(clues.gyroRms, clues.gyroPeak)
  if (!setpoint && ratio !== null) setpoint = matching(gyro.unit, ratio, 'the gyro')
  setpoint ??= Number.isFinite(clues.setpointPeak)
    ? bySize(clues.setpointPeak / 4, clues.setpointPeak)
    : { unit: 'dps', sure: 'guess', why: 'deg/s is assumed' }
  return { gyro, setpoint }
}

/** The unit in which this column moves as far as the other; `ratio` is the other's movement over this one's. */
function matching(other: UnitId, ratio: number, otherName: string): FoundUnit {
  let best: UnitId = 'dps'
  let distance = Infinity
  for (const unit of RATE_UNITS) {
    const off =
      Math.abs(Math.log((ratio * UNITS[other].scale) / UNITS[unit].scale)) + (COMMON.has(unit) ? 0 : 0.8)
    if (off < distance) [best, distance] = [unit, off]
  }
  const label = UNITS[best].label
  if (distance > 1.6)
    return { unit: best, sure: 'guess', why: `${label} comes nearest to how far ${otherName} moves` }
  return { unit: best, sure: 'likely', why: `${label} because it then moves as far as ${otherName}` }
}

function bySize(rms: number, peak: number): FoundUnit {
  // A sensor's full scale is commonly 2000 deg/s, 35 rad/s. Common practice, no source.
  if (peak > 40)
    return { unit: 'dps', sure: 'likely', why: `deg/s because ${said(peak)} rad/s is beyond any gyro` }
  if (peak > 15 || rms > 4) return { unit: 'dps', sure: 'guess', why: 'deg/s by its size alone' }
  const sure = rms < 1.5 && peak < 12 && peak > 0.05 ? 'likely' : 'guess'
  return { unit: 'radps', sure, why: `rad/s because it stays below ${said(peak)}, little for deg/s` }
}

const said = (value: number): string => String(Number(value.toPrecision(3)))
