import type { BounceBack } from '../manoeuvre/bounce-back.ts'
import type { Comparison, MeasureVerdict, Reading } from './comparison.ts'

/** At most so many sentences; more are not read. */
const MOST = 3

type Evidence = Omit<Comparison, 'reading' | 'cautions' | 'verdict'>

/**
 * Two or three plain sentences from the evidence, most telling first: what was measured, then what it may point at. Rules of
 * the trade are marked as such; where following one could hurt, the sentence carries a caution.
 */
export function readingOf(comparison: Evidence): Reading[] {
  const measured = [...strongest(comparison), ...limits(comparison)]
  const pointers = [...afterStops(comparison), ...delays(comparison)]
  const sentences = [...measured.slice(0, 2), ...pointers.slice(0, 1), ...measured.slice(2)].slice(0, MOST)
  return sentences.length > 0 ? sentences : [nothingTold(comparison)]
}

/** Clear headline differences by how many times they exceed what matters. */
function strongest({ measures, pairs }: Evidence): Reading[] {
  return measures
    .filter(
      ({ word, headline, id }) => headline && id !== 'motorTop' && (word === 'better' || word === 'worse'),
    )
    .sort((x, y) => size(y) - size(x))
    .slice(0, 2)
    .map((measure) => ({
      sentence: `${sentenceFor(measure)}: ${change(measure)}.`,
      standing: 'measured',
      rests: { measures: [measure.key], manoeuvres: restingOn(measure, pairs) },
      caution: null,
    }))
}

const size = (measure: MeasureVerdict) => Math.abs(measure.effect ?? 0) / measure.delta

function sentenceFor({ id, axis, word, label }: MeasureVerdict): string {
  const of = axis === 'roll' ? 'rolls' : axis === 'pitch' ? 'flips' : axis
  if (id === 'bouncePeak') return word === 'better' ? `B's ${of} stop sharper` : `B's ${of} bounce back more`
  if (id === 'lag')
    return word === 'better'
      ? `B follows the stick sooner on ${axis}`
      : `B follows the stick later on ${axis}`
  if (id === 'trackingError')
    return word === 'better'
      ? `B keeps closer to the setpoint on ${axis}`
      : `B strays further from the setpoint on ${axis}`
  return `${label} is ${word} in B${axis ? ` on ${axis}` : ''}`
}

/** "bounce-back 18.0 deg/s smaller [9.0, 26.0], 14 pairs" */
function change({ label, effect, interval, unit, digits, pairs }: MeasureVerdict): string {
  const number = (value: number) => Math.abs(value).toFixed(digits)
  const amount = `${label.replace(/, RMS$/, '').toLowerCase()} ${number(effect!)} ${unit} ${effect! < 0 ? 'smaller' : 'larger'}`
  const ends = [interval!.low, interval!.high]
    .map((value) => (effect! < 0 ? -value : value))
    .sort((x, y) => x - y)
  return `${amount} [${ends.map((value) => value.toFixed(digits)).join(', ')}], ${pairs} pairs`
}

function restingOn(measure: MeasureVerdict, pairs: Evidence['pairs']): string[] {
  return pairs
    .filter(({ differences }) => differences.some(({ key }) => key === measure.key))
    .flatMap(({ a, b }) => [a, b])
}

function limits({ headroom, a, b }: Evidence): Reading[] {
  if (!headroom.a || !headroom.b) return []
  const shareOf = (flight: Evidence['a']) => {
    const stops = flight.manoeuvres.filter(({ stop_s, axis }) => stop_s !== null && axis !== null)
    const limited = stops.filter(({ id }) => (flight.answers[id]!.values['motorTop.craft'] ?? 0) > 5)
    return {
      share: stops.length > 0 ? (100 * limited.length) / stops.length : 0,
      ids: limited.map(({ id }) => id),
    }
  }
  const own = shareOf(a)
  const other = shareOf(b)
  if (Math.max(own.share, other.share) < 10) return []
  const torque = headroom.a.torqueLimited + headroom.b.torqueLimited
  const tail =
    torque > 0
      ? `in ${torque} of ${headroom.a.judged + headroom.b.judged} the craft was short of torque`
      : 'that it was short of torque is not shown'
  return [
    {
      sentence: `Motors stood at their highest command in ${own.share.toFixed(0)} % of A's stops and ${other.share.toFixed(0)} % of B's; ${tail}. More gain can't help there.`,
      standing: 'measured',
      rests: { measures: ['motorTop.craft'], manoeuvres: [...own.ids, ...other.ids] },
      caution: null,
    },
  ]
}

/** What the shape of B's bounce-back points at. */
function afterStops({ b, measures }: Evidence): Reading[] {
  const readings: Reading[] = []
  for (const axis of ['roll', 'pitch'] as const) {
    const stops = b.manoeuvres.flatMap((manoeuvre) => {
      const { bounceBack } = b.answers[manoeuvre.id]!
      return manoeuvre.axis === axis && bounceBack ? [{ id: manoeuvre.id, bounceBack }] : []
    })
    if (stops.length < 4) continue
    const worth = measures.find(({ key }) => key === `bouncePeak.${axis}`)
    const peak = worth?.b ?? 0
    if (peak < 1.5 * (worth?.delta ?? Infinity)) continue
    const rings = stops.filter(({ bounceBack }) => bounceBack.ringFrequency_hz !== null)
    const slow = stops.filter(
      ({ bounceBack }) =>
        bounceBack.shape === 'slow' && bounceBack.explained > 0.5 && (bounceBack.slow_dps ?? 0) < 0,
    )
    if (rings.length >= 0.6 * stops.length)
      readings.push({
        sentence: `B still rings after stops on ${axis} (${peak.toFixed(0)} deg/s): a sharp, fast bounce points at the balance of P and D.`,
        standing: 'common practice',
        rests: {
          measures: [`bouncePeak.${axis}`, `ringFrequency.${axis}`],
          manoeuvres: rings.map(({ id }) => id),
        },
        caution:
          'More D heats motors and amplifies noise: raise it in small steps, hover briefly, land and feel the motors.',
      })
    else if (slow.length >= 0.6 * stops.length)
      readings.push({
        sentence: `B swings back softly and slowly after stops on ${axis}: ${windUp(slow).words}.`,
        standing: windUp(slow).confirmed ? 'measured' : 'common practice',
        rests: { measures: [`bouncePeak.${axis}`, `settling.${axis}`], manoeuvres: slow.map(({ id }) => id) },
        caution: windUp(slow).caution,
      })
  }
  return readings
}

/** What the logged I-term says of slow swings: confirmed only when it relaxes along with most of them. */
function windUp(slow: readonly { readonly bounceBack: BounceBack }[]): {
  readonly words: string
  readonly confirmed: boolean
  readonly caution: string
} {
  const logged = slow.filter(({ bounceBack }) => bounceBack.iTermRelaxes !== null)
  const along = logged.filter(({ bounceBack }) => bounceBack.iTermRelaxes)
  const caution = 'Change one thing at a time.'
  if (logged.length === 0)
    return {
      words: 'that is consistent with integrator wind-up',
      confirmed: false,
      caution: `Only a logged integral term could confirm it. ${caution}`,
    }
  const count = `in ${along.length} of ${logged.length} stops`
  return along.length >= 0.6 * logged.length
    ? {
        words: `integrator wind-up, for the logged I-term relaxes along with it ${count}`,
        confirmed: true,
        caution,
      }
    : {
        words: `the logged I-term relaxes along with it only ${count}, so integrator wind-up is not shown`,
        confirmed: false,
        caution,
      }
}

/** Late on every axis: what the trade would look at. */
function delays({ measures }: Evidence): Reading[] {
  const late = measures.filter(({ id, b }) => id === 'lag' && b !== null && b > 25)
  if (late.length === 0) return []
  const words = late.map(({ axis, b }) => `${axis} ${b!.toFixed(0)} ms`).join(', ')
  return [
    {
      sentence: `B comes late (${words}): feed-forward shortens the delay after the stick moves, without touching stability.`,
      standing: 'common practice',
      rests: { measures: late.map(({ key }) => key), manoeuvres: [] },
      caution: 'Too much feed-forward overshoots on quick sticks and passes link steps on to the motors.',
    },
  ]
}

function nothingTold({ measures, pairs }: Evidence): Reading {
  const headline = measures.filter(({ headline }) => headline)
  const alike = headline.filter(({ word }) => word === 'no clear difference')
  const reasons = new Set(headline.filter(({ axis }) => axis !== 'yaw').map(({ reason }) => reason))
  const needed = Math.max(0, ...headline.map(({ pairsNeeded }) => pairsNeeded ?? 0))
  const sentence =
    alike.length > 0
      ? `Flown alike, the two flights do not differ by more than what matters in ${alike.length} of ${headline.length} headline measures.`
      : pairs.length === 0 && reasons.size > 0
        ? [...reasons].slice(0, 2).join(' ')
        : pairs.length === 0
          ? 'No manoeuvre of one flight has a like partner in the other, so there is nothing to compare.'
          : `The pairs do not settle it; about ${needed > 0 ? needed : 'a dozen more'} pairs an axis would.`
  return {
    sentence,
    standing: 'measured',
    rests: { measures: (alike.length > 0 ? alike : headline).map(({ key }) => key), manoeuvres: [] },
    caution: null,
  }
}
