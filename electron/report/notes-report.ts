import { cardAsText } from '../../workers/fieldcard/card-text.ts'
import { fieldCard, type FieldCard } from '../../workers/fieldcard/field-card.ts'
import { pairEvidence } from '../../workers/fieldcard/pair-evidence.ts'
import type { Comparison } from '../../workers/verdict/comparison.ts'
import type { ListedMoment } from '../desk/contract/moments.ts'
import type { PilotNotes } from '../library/read-only.ts'
import type { PictureTheme } from '../../workers/picture/model.ts'
import type { Report } from './format.ts'
import { drawFieldCardPng } from './node-picture.ts'
import type { Files } from './shared-files.ts'

/** The content hashes of the logs that are compared. */
interface Logs {
  readonly a: string
  readonly b: string
}

/** What the pilot noted of A and B, as the report has it. */
export function notesReport({ moments, changes }: PilotNotes, logs: Logs): Report['noted'] {
  return {
    moments: moments.map(({ places, tags, note, stars, flyAgain, whatToFly }) => ({
      places: places.flatMap(({ contentHash, t0_s, t1_s, marked }) => {
        const side = contentHash === logs.a ? 'a' : contentHash === logs.b ? 'b' : null
        return marked && side ? [{ flight: side, t0_s, t1_s }] : []
      }),
      tags,
      note,
      stars,
      flyAgain,
      whatToFly,
    })),
    changes: changes.map(({ what, why, expectation, note, before, after, undone, best, verdict }) => ({
      what,
      why,
      expectation,
      note,
      before: before.map(({ name }) => name),
      after: after.map(({ name }) => name),
      undone: undone !== null,
      best,
      verdict: verdict && {
        word: verdict.word,
        sentence: verdict.sentence,
        pairs: verdict.pairs,
        a: verdict.a,
        b: verdict.b,
        method: { ...verdict.method },
      },
    })),
  }
}

/** The card of the moments that are to be flown again, as text and as a picture for a phone. */
export async function cardFiles(
  { moments }: PilotNotes,
  logs: Logs,
  verdict: Comparison,
  theme: PictureTheme,
): Promise<Files> {
  const again = moments.filter(({ flyAgain }) => flyAgain)
  const craft = again.flatMap(({ places }) => places.map((place) => place.craft)).find(Boolean) ?? ''
  const card: FieldCard = fieldCard(
    craft,
    again.map((moment) => ({
      ...moment,
      flights: [...new Set(markedIn(moment).map(({ flightName }) => flightName))].filter(Boolean),
      day: dayOf(markedIn(moment)[0]?.flownAt_ms ?? null),
      evidence: isOfPair(moment, logs) ? pairEvidence(verdict) : null,
    })),
  )
  return new Map<string, Uint8Array | string>([
    ['field-card.txt', cardAsText(card)],
    ['field-card.png', await drawFieldCardPng(card, theme)],
  ])
}

const markedIn = ({ places }: ListedMoment) => places.filter(({ marked }) => marked)

/** Marked while just these two flights lay side by side. */
const isOfPair = ({ places }: ListedMoment, logs: Logs): boolean =>
  (['a', 'b'] as const).every((side) =>
    places.some((place) => place.side === side && place.contentHash === logs[side]),
  )

const dayOf = (flownAt_ms: number | null): string | null =>
  flownAt_ms === null ? null : new Date(flownAt_ms).toISOString().slice(0, 10)
