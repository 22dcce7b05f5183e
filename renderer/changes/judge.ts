import { proxy } from 'comlink'
import type { Change, KeptVerdict } from '../../workers/changes/change.ts'
import { verdictToKeep } from '../../workers/changes/keep-verdict.ts'
import { Problem } from '../../workers/log/problems.ts'
import { loadFlight } from '../compare/load-flight.ts'
import { clockNow_ms } from './draft.ts'
import { DECLARED, editsOf, keptChoice } from '../verdict/choices.ts'
import { comparisonWorkers } from '../work/workers.ts'

/**
 * Judges a change anew: its first flight before against its first flight after, a second flight before as A's repeat. What the
 * pilot decided about manoeuvres and differences that matter counts, as on the verdict's screen.
 *
 * @throws Problem bad-request without a flight on each side, not-found, cancelled
 */
export async function judgeChange(
  change: Change,
  signal: AbortSignal,
  onProgress: (done: number, doing: string) => void,
): Promise<KeptVerdict> {
  const [before, again] = change.before
  const [after] = change.after
  if (!before || !after) throw new Problem('bad-request', 'It takes a flight before and a flight after.')
  const wanted = again ? [before, after, again] : [before, after]
  const loaded = await Promise.all(
    wanted.map(({ flightId }) =>
      loadFlight(flightId, signal, (done) => onProgress(0.2 * done, 'Loading the flights')),
    ),
  )
  const [a, b, repeat] = loaded
  if (!a || !b) throw new Error('two flights were asked for')
  const { deltas, headline, adjust } = await keptChoice(DECLARED)
  const options = {
    edits: { a: await keptChoice(editsOf(a.detail)), b: await keptChoice(editsOf(b.detail)) },
    deltas,
    adjust,
    ...(headline ? { headline } : {}),
  }
  const floor = repeat && {
    signals: repeat.signals,
    of: 'a' as const,
    edits: await keptChoice(editsOf(repeat.detail)),
  }
  let over = false
  try {
    const comparison = await comparisonWorkers.run(
      (worker) =>
        worker.verdict(
          a.signals,
          b.signals,
          options,
          floor ?? null,
          proxy((done: number, doing: string) => {
            if (!over) onProgress(0.2 + 0.8 * done, doing)
          }),
        ),
      signal,
    )
    return verdictToKeep(comparison, {
      judgedAt_ms: clockNow_ms(),
      a: a.detail.name,
      b: b.detail.name,
      repeat: repeat?.detail.name ?? null,
    })
  } finally {
    over = true
  }
}
