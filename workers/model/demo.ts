import { LANTERN, type Craft } from './craft.ts'
import { simulateFlight } from './flight.ts'
import { DEMO_STYLE } from './log-style.ts'
import { writeLog } from './log-text.ts'
import type { PilotStyle } from './pilot.ts'
import { seedFor } from './random.ts'
import { baseSetup, CALM } from './scenarios.ts'
import { settingsSheet } from './settings-sheet.ts'
import { truthOf, type Truth } from './truth.ts'
import { LANTERN_TUNE, scaledTune, type Tune } from './tune.ts'
import type { Weather } from './disturbance.ts'

/** A moment marked in a demo flight; `t_s` counts from the log's first row. */
export interface DemoMoment {
  readonly t_s: number
  readonly duration_s: number
  readonly tags: readonly string[]
  readonly note: string
  readonly stars: number
  /** What to fly again; null for nothing. */
  readonly flyAgain: string | null
}

/** One flight of the demo: the log and the settings sheet as files, and what the logbook should know of it. */
export interface DemoFlight {
  /** 1 for the earliest. */
  readonly order: number
  readonly fileName: string
  /** The delimited log. */
  readonly text: string
  readonly settingsName: string
  /** `name = value` lines. */
  readonly settingsText: string
  readonly truth: Truth
  readonly craft: string
  readonly title: string
  readonly note: string
  /** What was changed since the flight before, and why; empty for the first. */
  readonly changeNote: string
  /** What the pilot expected of that change; empty for the first. */
  readonly expectation: string
  readonly moments: readonly DemoMoment[]
}

export const DEMO_SEED = 20
export const DEMO_COUNT = 5

interface Plan {
  readonly slug: string
  readonly date: string
  readonly title: string
  readonly note: string
  readonly changeNote: string
  readonly expectation: string
  readonly craft: Craft
  /** How the battery lies: a line of the settings sheet. */
  readonly mount: 'lengthwise' | 'crosswise'
  readonly tune: Tune
  readonly pilot: PilotStyle
  readonly weather: Weather
  readonly batteryUsed: number
  readonly moments: (truth: Truth) => DemoMoment[]
}

const STEADY: PilotStyle = { skill: 0.8, roughness: 0.2 }

/** The trail: four single changes. Each tune differs from the one before in the one thing its note names. */
function plans(): Plan[] {
  const first = LANTERN_TUNE
  const limits = scaledTune(first, ['roll', 'pitch'], { windupLimit: 1.6 })
  const forward = scaledTune(limits, ['roll', 'pitch'], { feedForward: 2.5 })
  const crosswise = { roll: 0.0041, pitch: 0.0033, yaw: 0.0062 }
  const turned: Craft = { ...LANTERN, inertia_kgm2: crosswise }
  return [
    {
      slug: 'baseline',
      date: '2026-05-09 10:12',
      title: 'Baseline',
      note: 'New build, first settings. Bounces after rolls and flips, shakes when caught out of a drop.',
      changeNote: '',
      expectation: '',
      craft: LANTERN,
      mount: 'lengthwise',
      tune: first,
      pilot: STEADY,
      weather: CALM,
      batteryUsed: 0.03,
      moments: (truth) => [
        ...marked(truth, 'roll', 2, {
          tags: ['bounce-back'],
          note: 'Swings back after the roll has stopped.',
          stars: 3,
        }),
        ...marked(truth, 'wash dive', 1, {
          tags: ['wash'],
          note: 'Shakes when the throttle opens at the end of the drop.',
          flyAgain: 'Drops of two seconds, throttle opened at the end as fast as here.',
        }),
      ],
    },
    {
      slug: 'higher-i-limit',
      date: '2026-05-09 10:41',
      title: 'Higher I limit',
      note: 'Felt worse all over. Wind had come up and I was flying hard.',
      changeNote: 'Raised the I limit on roll and pitch from 0.25 to 0.4, hoping for a firmer hold in drops.',
      expectation: 'Less shaking when caught out of a drop; nothing else.',
      craft: LANTERN,
      mount: 'lengthwise',
      tune: limits,
      pilot: { skill: 0.7, roughness: 0.85 },
      weather: { wind_mps: 4, turbulence_mps: 1 },
      batteryUsed: 0.05,
      moments: () => [],
    },
    {
      slug: 'more-feed-forward',
      date: '2026-05-10 09:30',
      title: 'More feed-forward',
      note: 'Follows the sticks at once. Same calm air as the first day.',
      changeNote: 'Feed-forward on roll and pitch 2.5 times as large: the craft always came late.',
      expectation: 'Less lag and less error on roll and pitch; yaw as it was.',
      craft: LANTERN,
      mount: 'lengthwise',
      tune: forward,
      pilot: STEADY,
      weather: CALM,
      batteryUsed: 0.03,
      moments: () => [],
    },
    {
      slug: 'battery-crosswise',
      date: '2026-05-10 10:05',
      title: 'Battery crosswise',
      note: 'Flips feel tight now. Rolls not so sure.',
      changeNote: 'Turned the battery across the frame to clear the camera. No setting changed.',
      expectation: 'No difference in the air.',
      craft: turned,
      mount: 'crosswise',
      tune: forward,
      pilot: { skill: 0.8, roughness: 0.25 },
      weather: CALM,
      batteryUsed: 0.04,
      moments: (truth) =>
        marked(truth, 'roll', 3, {
          tags: ['drift'],
          note: 'Does roll hang back here, or was that me?',
          stars: 4,
          flyAgain: 'Single rolls to the right from level flight, stick to the stop and back to the middle.',
        }),
    },
    {
      slug: 'motor-top-half',
      date: '2026-05-11 18:20',
      title: 'Motor top at half',
      note: 'Tame and quiet, but it mushes through rolls and falls through the catch of a drop.',
      changeNote: 'Motor top from 100 % to 50 %, to spare a tired battery.',
      expectation: 'Longer flights, softer punches, the same handling.',
      craft: turned,
      mount: 'crosswise',
      tune: { ...forward, top: 0.5 },
      pilot: STEADY,
      weather: CALM,
      batteryUsed: 0.03,
      moments: (truth) =>
        marked(truth, 'roll', 1, {
          tags: ['other', 'motors at their limit'],
          note: 'Two motors flat at the top, two at idle.',
        }),
    },
  ]
}

/** A moment over the end of the nth manoeuvre of a kind, from the stick's return to half a second after it. */
function marked(
  truth: Truth,
  kind: string,
  nth: number,
  said: Pick<DemoMoment, 'tags' | 'note'> & Partial<DemoMoment>,
): DemoMoment[] {
  const one = truth.manoeuvres.filter((flown) => flown.kind === kind)[nth - 1]
  if (one === undefined) throw new Error(`the demo has no manoeuvre to mark: ${kind} ${nth}`)
  const t_s = Number((one.release_s ?? one.start_s).toFixed(2))
  return [{ t_s, duration_s: 0.7, stars: 0, flyAgain: null, ...said }]
}

/**
 * The demo scenario: one invented craft over five flights with four single changes, made anew from the seed.
 * One change does nothing but is flown rougher, one helps clearly, one helps one axis and hurts another, one
 * drives the motors into their limits. Yields flight by flight (about half a second each), so that a caller
 * can show progress and stop in between. Same seed, same bytes.
 */
export function* demoFlights(seed: number = DEMO_SEED): Generator<DemoFlight, void, undefined> {
  let order = 0
  for (const plan of plans()) {
    order++
    yield flyPlan(plan, order, seed)
  }
}

function flyPlan(plan: Plan, order: number, seed: number): DemoFlight {
  const craft = plan.craft
  const setup = baseSetup(seedFor(seed, plan.slug), {
    craft,
    tune: plan.tune,
    pilot: plan.pilot,
    weather: plan.weather,
    batteryUsed: plan.batteryUsed,
  })
  const record = simulateFlight(setup)
  const name = `${String(order).padStart(2, '0')}-${plan.slug}`
  const truth = truthOf('demo', name, setup, record)
  const log = writeLog(record, {
    style: DEMO_STYLE,
    preamble: [
      { name: 'craft', value: craft.name },
      { name: 'date', value: plan.date },
      { name: 'flight', value: String(order) },
    ],
  })
  return {
    order,
    fileName: `${name}.csv`,
    text: new TextDecoder().decode(log),
    settingsName: `${name}.settings.txt`,
    settingsText: settingsSheet(craft, plan.tune, [{ name: 'battery mount', value: plan.mount }]),
    truth,
    craft: craft.name,
    title: plan.title,
    note: plan.note,
    changeNote: plan.changeNote,
    expectation: plan.expectation,
    moments: plan.moments(truth),
  }
}
