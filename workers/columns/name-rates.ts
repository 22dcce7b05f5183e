import { AXES, type Axis } from '../flight/axes.ts'
import { UNITS, type UnitId } from '../units/units.ts'
import { derivative, relate, sizeOf, type Relation } from './evidence.ts'
import type { AxisFamily } from './families.ts'
import type { Sample } from './sample.ts'
import {
  ACTUAL_WORDS,
  GYRO_WORDS,
  LESSER_WORDS,
  OTHER_WORDS,
  RATE_WORDS,
  SETPOINT_WORDS,
  STICK_WORDS,
  THROTTLE_WORDS,
} from './vocabulary.ts'

const ATTITUDE_WORDS = new Set([
  'att',
  'attitude',
  'angle',
  'angles',
  'ang',
  'euler',
  'rpy',
  'orientation',
  'lage',
])
const SPEED_WORDS = new Set(['vel', 'velocity', 'velocities', 'speed'])

/** How strongly a family's words speak for each kind. Zero or less: not at all. */
export interface FamilyScores {
  readonly family: AxisFamily
  readonly gyro: number
  readonly setpoint: number
  readonly stick: number
  /** An attitude, whose slope can check the gyro. */
  readonly angle: boolean
  /** The words alone say "rate", so that a setpoint needs no support from the numbers. */
  readonly saysRate: boolean
}

/** Reads a family's words. */
export function scoreFamily(family: AxisFamily, sample: Sample): FamilyScores {
  const has = (set: ReadonlySet<string>): boolean => family.base.some((word) => set.has(word))
  const columns = Object.values(family.columns)
  const rateUnit = columns.some((column) => {
    const unit = sample.tokens[column]?.unit
    return unit ? (UNITS[unit].quantity as readonly string[]).includes('rate') : false
  })
  const foreignUnit = columns.some((column) => sample.tokens[column]?.foreignUnit)
  const gyroWord = has(GYRO_WORDS)
  const rateWord = has(RATE_WORDS) || rateUnit
  const turning = rateWord || gyroWord
  const speedOfTurn = turning || family.alphabet === 'words'
  const stickWord = has(STICK_WORDS) || family.surfaces
  const foreign =
    family.base.some(
      (word) =>
        OTHER_WORDS.has(word) &&
        !(turning && ATTITUDE_WORDS.has(word)) &&
        !(stickWord && (word === 'position' || word === 'pos')) &&
        !(speedOfTurn && SPEED_WORDS.has(word) && !has(ATTITUDE_WORDS)),
    ) ||
    has(THROTTLE_WORDS) ||
    (foreignUnit && !gyroWord) ||
    family.withHeading
  const speed = family.alphabet === 'words' && has(SPEED_WORDS)
  const saysRate = turning || speed
  const setpointWord = has(SETPOINT_WORDS)
  const whole = columns.length === 3 ? 0.5 : 0
  const lesser = has(LESSER_WORDS) ? 0.75 : 0
  const short = -0.05 * family.base.length
  const bodyRates = family.alphabet === 'pqr' && family.base.length <= 1
  const omega = family.alphabet === 'xyz' && family.base.length > 0 && family.base[0] === 'w'

  let gyro = (gyroWord ? 4 : 0) + (rateWord ? 2 : 0) + (speed ? 1.5 : 0) + (bodyRates || omega ? 2 : 0)
  if (gyro > 0) gyro += (has(ACTUAL_WORDS) ? 0.5 : 0) + whole + short - lesser
  let setpoint = setpointWord ? 2 + (saysRate ? 2 : 0) + whole + short - lesser : 0
  let stick = stickWord ? 3 + whole + short - lesser : 0
  if (foreign) gyro = setpoint = stick = 0
  if (setpointWord) gyro = 0
  if (stickWord && saysRate) stick = 0
  if (stickWord && !saysRate) setpoint = 0
  if (stickWord) gyro = 0
  const angle =
    !setpointWord &&
    !stickWord &&
    !turning &&
    !speed &&
    !has(new Set(['pid', 'ctrl', 'controller', 'error', 'err', 'term', 'output', 'outputs'])) &&
    (family.alphabet === 'words' || (family.alphabet === 'rpy' && has(ATTITUDE_WORDS)))
  return { family, gyro, setpoint, stick, angle, saysRate }
}

/** A gyro and its setpoint as they fit together, axis by axis. */
export interface RatePair {
  readonly gyro: AxisFamily | null
  readonly setpoint: AxisFamily | null
  readonly relations: Readonly<Partial<Record<Axis, Relation>>>
  /** Why the setpoint may be none, as the end of a sentence; '' when nothing speaks against it. */
  readonly doubt: string
}

const withoutWords = (base: readonly string[], sets: readonly ReadonlySet<string>[]): string =>
  base.filter((word) => !sets.some((set) => set.has(word))).join(' ')

/** Chooses gyro and setpoint together: words first, likeness of their names next, then how the numbers move. */
export function chooseRates(scores: readonly FamilyScores[], sample: Sample): RatePair {
  const top = (kind: 'gyro' | 'setpoint'): FamilyScores[] =>
    scores
      .filter((score) => score[kind] > 1)
      .sort((a, b) => b[kind] - a[kind])
      .slice(0, 5)
  let gyros = top('gyro')
  const setpoints = top('setpoint')
  // Plain "roll pitch yaw" beside "target roll pitch yaw": the only reading left when nothing else is a gyro.
  if (gyros.length === 0) gyros = scores.filter((score) => isBareTwin(score, setpoints))
  let best: RatePair = { gyro: gyros[0]?.family ?? null, setpoint: null, relations: {}, doubt: '' }
  let bestScore = -Infinity
  for (const gyro of gyros) {
    for (const setpoint of setpoints) {
      if (sharesColumns(gyro.family, setpoint.family)) continue
      const relations = relateFamilies(setpoint.family, gyro.family, sample)
      const strengths = Object.values(relations).map((relation) => Math.abs(relation.r))
      const strength = strengths.length > 0 ? strengths.reduce((a, b) => a + b, 0) / strengths.length : null
      // Without the word "rate" a setpoint may be of an angle or a place: the gyro must be seen to follow it.
      const follows = strengths.filter((r) => r > 0.5).length >= Math.min(2, strengths.length)
      const bare = withoutWords(setpoint.family.base, [SETPOINT_WORDS]) === ''
      if (!setpoint.saysRate && !(follows && strength !== null) && !(bare && strength === null)) continue
      const twin = likeness(gyro.family, setpoint.family)
      const score = gyro.gyro + setpoint.setpoint + twin + 2 * (strength ?? 0)
      if (score <= bestScore) continue
      bestScore = score
      best = {
        gyro: gyro.family,
        setpoint: setpoint.family,
        relations,
        doubt: doubtOf(strength, setpoint.saysRate),
      }
    }
  }
  return best.gyro && best.setpoint ? withOrder(best, best.gyro, best.setpoint, sample) : best
}

function doubtOf(strength: number | null, saysRate: boolean): string {
  if (strength === null) return saysRate ? '' : 'nothing in the file confirms that it is a rate'
  return strength < 0.25 ? `the gyro hardly follows it (correlation ${strength.toFixed(2)})` : ''
}

/** A setpoint leads. One that trails the gyro on most axes suggests that the names are swapped. */
function withOrder(pair: RatePair, gyro: AxisFamily, setpoint: AxisFamily, sample: Sample): RatePair {
  const backwards = relateFamilies(gyro, setpoint, sample)
  let trails = 0
  let judged = 0
  for (const axis of AXES) {
    const forward = pair.relations[axis]
    const back = backwards[axis]
    if (!forward || !back || Math.max(Math.abs(forward.r), Math.abs(back.r)) < 0.7) continue
    judged += 1
    if (Math.abs(back.r) > Math.abs(forward.r) + 0.002 && back.lagRows > 0 && forward.lagRows === 0)
      trails += 1
  }
  if (judged < 2 || trails < judged) return pair
  return {
    ...pair,
    doubt: 'but it comes after the gyro instead of before it, as if the two names were swapped',
  }
}

/** "real rate" and "target rate" belong together; so, less surely, do "gyro" and "gyro target". */
function likeness(gyro: AxisFamily, setpoint: AxisFamily): number {
  const wanted = withoutWords(setpoint.base, [SETPOINT_WORDS])
  if (withoutWords(gyro.base, [ACTUAL_WORDS]) === wanted) return 2.5
  const loose = [ACTUAL_WORDS, SETPOINT_WORDS, GYRO_WORDS, RATE_WORDS]
  return withoutWords(gyro.base, loose) === withoutWords(setpoint.base, loose) ? 0.5 : 0
}

function isBareTwin(score: FamilyScores, setpoints: readonly FamilyScores[]): boolean {
  if (!score.angle || score.family.base.some((word) => OTHER_WORDS.has(word))) return false
  const bare = withoutWords(score.family.base, [ACTUAL_WORDS])
  return setpoints.some((setpoint) => withoutWords(setpoint.family.base, [SETPOINT_WORDS]) === bare)
}

function sharesColumns(a: AxisFamily, b: AxisFamily): boolean {
  const columns = new Set(Object.values(a.columns))
  return Object.values(b.columns).some((column) => columns.has(column))
}

/** How each axis of `answer` follows that axis of `cause`. */
export function relateFamilies(
  cause: AxisFamily,
  answer: AxisFamily,
  sample: Sample,
): Partial<Record<Axis, Relation>> {
  const relations: Partial<Record<Axis, Relation>> = {}
  for (const axis of AXES) {
    const from = sample.thinned(cause.columns[axis])
    const to = sample.thinned(answer.columns[axis])
    if (!from || !to) continue
    const relation = relate(from, to, sample.windowRows, sample.maxLagRows)
    if (relation) relations[axis] = relation
  }
  return relations
}

/** What an attitude's slope says about the gyro. */
export interface AngleCheck {
  readonly family: AxisFamily
  readonly relations: Readonly<Partial<Record<Axis, Relation>>>
  /** The unit that the gyro must have, or null when the angles don't tell. */
  readonly unit: UnitId | null
}

/** The attitude whose slope goes best with the gyro, when there is one with a correlation above .6 on some axis. */
export function checkByAngles(
  gyro: AxisFamily,
  scores: readonly FamilyScores[],
  sample: Sample,
): AngleCheck | null {
  const { time_s } = sample
  if (!time_s) return null
  let best: AngleCheck | null = null
  let bestStrength = 0
  for (const { family, angle } of scores) {
    if (!angle || sharesColumns(gyro, family)) continue
    const relations: Partial<Record<Axis, Relation>> = {}
    let strength = 0
    let degrees = 0
    let count = 0
    for (const axis of AXES) {
      const rate = sample.thinned(gyro.columns[axis])
      const angles = sample.thinned(family.columns[axis])
      if (!rate || !angles) continue
      const { peak } = sizeOf(angles)
      // No angle in radians passes 2 pi.
      const inDegrees = peak > 6.5
      if (inDegrees) degrees += 1
      const relation = relate(
        rate,
        derivative(angles, time_s, inDegrees ? 360 : 2 * Math.PI),
        sample.windowRows,
        Math.ceil(sample.maxLagRows / 4),
      )
      if (!relation) continue
      relations[axis] = relation
      strength += Math.abs(relation.r)
      count += 1
    }
    const strongest = Math.max(0, ...Object.values(relations).map((relation) => Math.abs(relation.r)))
    if (strongest < 0.6 || strength / count <= bestStrength) continue
    bestStrength = strength / count
    best = { family, relations, unit: unitFromAngles(relations, degrees >= 2) }
  }
  return best
}

function unitFromAngles(relations: Partial<Record<Axis, Relation>>, degrees: boolean): UnitId | null {
  const logs = Object.values(relations)
    .filter((relation) => Math.abs(relation.r) > 0.6)
    .map((relation) => Math.log(relation.ratio))
    .sort((a, b) => a - b)
  if (logs.length === 0) return null
  const middle = logs[logs.length >> 1] as number
  const turn = Math.log(UNITS.radps.scale)
  if (Math.abs(middle - turn) < 1) return 'radps'
  if (Math.abs(middle + turn) < 1) return 'dps'
  return Math.abs(middle) < 1 && degrees ? 'dps' : null
}
