import type { Library } from '../library/library.ts'
import type { CallAsked, CallResponse } from './contract/calls.ts'
import type { CHANGE_CALLS } from './contract/changes.ts'

type ChangeCall = keyof typeof CHANGE_CALLS

/** The newest flights of a craft whose settings are looked through for a course. */
const MOST_FLIGHTS = 300

/** The desk's answers about changes and the glossary. `onChange` hears that a trail is another now. */
export function changeAnswers(
  library: Library,
  onChange: () => void,
): { [N in ChangeCall]: (asked: CallAsked<N>) => CallResponse<N> } {
  const { changes, listing } = library
  return {
    'changes.list': ({ craft }) => {
      const crafts = changes.crafts()
      const of = craft ?? (crafts.find((one) => one.changes > 0) ?? crafts[0])?.craft ?? ''
      const list = changes.list(of)
      return {
        craft: of,
        changes: list as CallResponse<'changes.list'>['changes'],
        present: changes.present(list),
        crafts,
      }
    },
    'changes.put': ({ change }) => {
      library.together(() => changes.put(change))
      onChange()
      return {}
    },
    'changes.remove': ({ id }) => {
      changes.remove(id)
      onChange()
      return {}
    },
    'changes.sheets': ({ craft }) => ({
      flights: changes.flightsOf(craft, MOST_FLIGHTS).flatMap((id) => {
        const [flight] = listing.summaries([id])
        const { contentHash, settings, preamble } = library.get(id)
        return flight ? [{ flight, contentHash, settings, preamble }] : []
      }),
    }),
    'glossary.get': () => ({ glossary: [...changes.glossary()] }),
    'glossary.set': ({ glossary }) => {
      library.together(() => changes.keepGlossary(glossary))
      return {}
    },
  }
}
