import { AXES, type Axis } from '../flight/axes.ts'
import { UNITS, type UnitId } from '../units/units.ts'
import { sizeOf } from './evidence.ts'
import { findFamilies, type AxisFamily } from './families.ts'
import { nameBattery } from './name-battery.ts'
import { nameMotors, nameThrottle } from './name-commands.ts'
import { nameSpeeds } from './name-speeds.ts'
import { findTerms, nameTerms } from './name-terms.ts'
import { chooseFiltered, nameUnfiltered } from './name-unfiltered.ts'
import { checkByAngles, scoreFamily, type AngleCheck, type RatePair } from './name-rates.ts'
import { nameTime } from './name-time.ts'
import { findRateUnits, type FoundUnit } from './rate-units.ts'
import { ROLES, type Assignment, type Role, type Sureness } from './roles.ts'
import { makeSample, type Sample } from './sample.ts'
import { tokensOf, type Tokens } from './tokens.ts'

/** What there is to judge columns by. */
export interface ColumnsToName {
  readonly names: readonly string[]
  /** From a row of units under the header; '' where there is none. */
  readonly unitTexts?: readonly string[]
  /** Units of columns that hold dates or times as such, by their place. */
  readonly stampUnits?: ReadonlyMap<number, UnitId>
  /** Sampled values per column in file order, NaN for empty cells; null for columns of text. */
  readonly samples: readonly (Float64Array | null)[]
}

/**
 * Names a log's columns by meaning: from words and axis letters of any style, from units, from the numbers' sizes and
 * from how they move together. Every assignment says how it was decided and how sure it is.
 * Columns that mean nothing to the program are left out. At most one column per role.
 */
export function nameColumns({ names, unitTexts = [], stampUnits, samples }: ColumnsToName): Assignment[] {
  const tokens = tokensFor(names, unitTexts)
  const time = nameTime(names, tokens, samples, stampUnits)
  const clock = time ? samples[time.column] : null
  const time_s = time && clock ? clock.map((stamp) => stamp * UNITS[time.unit].scale) : null
  const sample = makeSample(names, tokens, samples, time_s)
  const usable = tokens.map((token, column) =>
    hasNumbers(samples[column]) && column !== time?.column ? token : null,
  )
  const families = findFamilies(usable)
  const terms = findTerms(families)
  const termColumns = new Set(terms.flatMap(({ family }) => Object.values(family.columns)))
  const scores = families
    .filter((family) => Object.values(family.columns).every((column) => !termColumns.has(column)))
    .map((family) => scoreFamily(family, sample))
  const pair = chooseFiltered(scores, sample)
  const angles = pair.gyro ? checkByAngles(pair.gyro, scores, sample) : null
  const sticks =
    scores.filter((score) => score.stick > 1).sort((a, b) => b.stick - a.stick)[0]?.family ?? null
  const numbered = [sticks, pair.setpoint].find((family) => family?.fourth != null)
  const fourth =
    numbered?.fourth != null
      ? {
          column: numbered.fourth,
          why: `“${names[numbered.fourth]}” is the fourth after roll, pitch and yaw`,
        }
      : null
  const rates = nameRates(pair, angles, sample)
  const found = [
    ...(time ? [time] : []),
    ...rates,
    ...nameUnfiltered(pair.gyro, scores, rates, sample),
    ...(sticks ? nameSticks(sticks, sample) : []),
    ...nameMotors(sample),
    ...nameTerms(terms, rates, sample),
  ]
  const throttle = nameThrottle(sample, fourth)
  if (throttle) found.push(withMotorsUnit(throttle, found))
  found.push(...nameSpeeds(sample, found))
  const battery = nameBattery(sample)
  if (battery) found.push(battery)
  return found.sort((a, b) => ROLES.indexOf(a.role) - ROLES.indexOf(b.role))
}

const taken = new WeakMap<readonly string[], { unitTexts: readonly string[]; tokens: readonly Tokens[] }>()

/** The names taken apart, remembered: a log's header is asked for twice, and may have very many names. */
function tokensFor(names: readonly string[], unitTexts: readonly string[]): readonly Tokens[] {
  const known = taken.get(names)
  if (known?.unitTexts === unitTexts) return known.tokens
  const tokens = names.map((name, column) => tokensOf(name, unitTexts[column] ?? ''))
  taken.set(names, { unitTexts, tokens })
  return tokens
}

function hasNumbers(values: Float64Array | null | undefined): boolean {
  return values != null && sizeOf(values).count > 0
}

/** A throttle that never moves has no range of its own: it most likely shares the motors'. */
function withMotorsUnit(throttle: Assignment, found: readonly Assignment[]): Assignment {
  const motor = found.find((assignment) => assignment.role === 'motor.1')
  if (!motor || throttle.sure !== 'guess' || throttle.unit !== 'share') return throttle
  return {
    ...throttle,
    unit: motor.unit,
    how: throttle.how.replace(/\.$/, '; the unit is taken from the motors.'),
  }
}

function nameRates(pair: RatePair, angles: AngleCheck | null, sample: Sample): Assignment[] {
  const { gyro, setpoint } = pair
  if (!gyro) return []
  const values = (family: AxisFamily | null): Float64Array[] =>
    Object.values(family?.columns ?? {}).flatMap((column) => sample.columns[column] ?? [])
  const peak = (family: AxisFamily | null): number =>
    Math.max(...values(family).map((one) => sizeOf(one).peak))
  const rms = Math.max(...values(gyro).map((one) => sizeOf(one).rms))
  const relations = Object.values(pair.relations)
    .filter((relation) => Math.abs(relation.r) > 0.3)
    .sort((a, b) => a.ratio - b.ratio)
  const angleAxis = AXES.find((axis) => Math.abs(angles?.relations[axis]?.r ?? 0) > 0.6)
  const units = findRateUnits({
    gyroHeader: headerUnit(gyro, sample),
    setpointHeader: setpoint ? headerUnit(setpoint, sample) : null,
    gyroRms: rms,
    gyroPeak: peak(gyro),
    setpointPeak: setpoint ? peak(setpoint) : NaN,
    ratio: relations[relations.length >> 1]?.ratio ?? null,
    fromAngles: angles?.unit ?? null,
    angleName: `“${sample.names[angles?.family.columns[angleAxis ?? 'roll'] ?? -1] ?? ''}”`,
  })
  const found: Assignment[] = []
  for (const axis of AXES) {
    const signs = signsOf(axis, pair, angles, sample)
    const gyroColumn = gyro.columns[axis]
    if (gyroColumn !== undefined) {
      found.push(assign(`gyro.${axis}`, gyroColumn, gyro, units.gyro, signs.gyro, '', sample))
    }
    const setpointColumn = setpoint?.columns[axis]
    if (setpoint && setpointColumn !== undefined) {
      found.push(
        assign(
          `setpoint.${axis}`,
          setpointColumn,
          setpoint,
          units.setpoint,
          signs.setpoint,
          pair.doubt,
          sample,
        ),
      )
    }
  }
  return found
}

interface Turned {
  readonly sign: 1 | -1
  readonly why: string
}

/**
 * Signs on one axis. A setpoint that the gyro follows settles their relation; without one, an attitude whose slope
 * runs against the gyro turns the gyro. A sign is only turned on a strong correlation.
 */
function signsOf(
  axis: Axis,
  pair: RatePair,
  angles: AngleCheck | null,
  sample: Sample,
): { gyro: Turned; setpoint: Turned } {
  const keep: Turned = { sign: 1, why: '' }
  const follows = pair.relations[axis]
  const slope = angles?.relations[axis]
  const against = slope !== undefined && slope.r < -0.6
  const name = sample.names[angles?.family.columns[axis] ?? -1] ?? ''
  const bySlope: Turned = {
    sign: -1,
    why: `its sign is turned because it runs against the slope of “${name}” (correlation ${slope?.r.toFixed(2)})`,
  }
  if (!follows || Math.abs(follows.r) < 0.5) return { gyro: against ? bySlope : keep, setpoint: keep }
  if (follows.r > 0) return { gyro: keep, setpoint: keep }
  if (against) return { gyro: bySlope, setpoint: keep }
  const why = `its sign is turned because the gyro moves against it (correlation ${follows.r.toFixed(2)})`
  return { gyro: keep, setpoint: { sign: -1, why } }
}

function headerUnit(family: AxisFamily, sample: Sample): UnitId | null {
  for (const column of Object.values(family.columns)) {
    const unit = sample.tokens[column]?.unit
    if (unit && (UNITS[unit].quantity as readonly string[]).includes('rate')) return unit
  }
  return null
}

const KIND = { gyro: 'gyro', setpoint: 'setpoint', stick: 'stick' } as const

function assign(
  role: Role,
  column: number,
  family: AxisFamily,
  unit: FoundUnit,
  turned: Turned,
  doubt: string,
  sample: Sample,
): Assignment {
  const [kind, axis] = role.split('.') as [keyof typeof KIND, Axis]
  const name = sample.names[column] ?? ''
  const order = family.alphabet === '012' || family.alphabet === '123'
  const why = order
    ? `“${name}” names the ${KIND[kind]}, its number the axis (${axis})`
    : `“${name}” names the ${KIND[kind]} of ${axis}`
  const parts = [why, unit.why, turned.why, doubt]
  const sure: Sureness =
    doubt !== '' ? 'guess' : turned.sign === -1 && unit.sure === 'certain' ? 'likely' : unit.sure
  return {
    role,
    column,
    name,
    unit: unit.unit,
    sign: turned.sign,
    sure,
    setBy: 'program',
    how: `${parts.filter((part) => part !== '').join('; ')}.`,
  }
}

function nameSticks(family: AxisFamily, sample: Sample): Assignment[] {
  const columns = Object.values(family.columns)
  const sizes = columns.flatMap((column) => (sample.columns[column] ? [sizeOf(sample.columns[column])] : []))
  const unit = stickUnit(
    columns.some((column) => sample.tokens[column]?.unit === 'percent'),
    Math.min(...sizes.map((size) => size.min)),
    Math.max(...sizes.map((size) => size.max)),
  )
  return AXES.flatMap((axis) => {
    const column = family.columns[axis]
    if (column === undefined) return []
    return [assign(`stick.${axis}`, column, family, unit, { sign: 1, why: '' }, '', sample)]
  })
}

function stickUnit(percent: boolean, min: number, max: number): FoundUnit {
  if (percent) return { unit: 'stick100', sure: 'certain', why: 'the unit stands in the header' }
  const size = Math.max(Math.abs(min), Math.abs(max))
  const found = (unit: UnitId, sure: Sureness): FoundUnit => ({
    unit,
    sure,
    why: `values from ${Number(min.toPrecision(4))} to ${Number(max.toPrecision(4))} fit a range of ${UNITS[unit].label}`,
  })
  if (min >= 700 && max <= 2300) return found('stickUs', 'likely')
  if (size <= 1.05) return found('unit', size > 0.05 ? 'likely' : 'guess')
  if (size <= 105) return found('stick100', size > 20 ? 'likely' : 'guess')
  if (size <= 525) return found('stick500', size > 250 ? 'likely' : 'guess')
  return found('stick1000', size <= 1050 ? 'likely' : 'guess')
}
