import type { Library } from '../library/library.ts'
import type { CallAsked, CallResponse } from './contract/calls.ts'
import type { MOMENT_CALLS } from './contract/moments.ts'

type MomentCall = keyof typeof MOMENT_CALLS

/** What was taken away may be brought back for so long; then it is forgotten. */
const KEPT_MS = 30 * 86_400_000

/** The desk's answers about moments. */
export function momentAnswers({ moments }: Library): {
  [N in MomentCall]: (asked: CallAsked<N>) => CallResponse<N>
} {
  moments.forgetRemoved(Date.now() - KEPT_MS)
  return {
    'moments.list': (asked) => moments.page(asked),
    'moments.of': ({ contentHashes }) => ({ moments: moments.of(contentHashes) }),
    'moments.get': ({ momentId }) => ({ moment: moments.get(momentId) }),
    'moments.add': (moment) => ({ moment: moments.add(moment, Date.now()) }),
    'moments.edit': ({ momentId, change }) => ({ moment: moments.edit(momentId, change, Date.now()) }),
    'moments.remove': ({ momentId }) => {
      moments.remove(momentId, Date.now())
      return {}
    },
    'moments.restore': ({ momentId }) => ({ moment: moments.restore(momentId) }),
  }
}
