import type { ListedMoment } from '../../electron/desk/contract/moments.ts'
import { MOST_STARS } from '../../workers/moments/moment.ts'
import type { Command } from '../commands/command.ts'
import type { MomentList } from './moment-list.svelte.ts'
import { shelf } from './shelf.svelte.ts'

interface Ways {
  readonly see: (moment: ListedMoment) => void
  readonly edit: () => void
  readonly card: () => void
}

/** What can be done in the list of all moments, for the command registry. */
export function listCommands(list: MomentList, ways: Ways): Command[] {
  const withChosen = (work: (moment: ListedMoment) => void) => () => {
    if (list.chosen) work(list.chosen)
  }
  const isChosen = () => list.chosen !== null
  const command = (
    id: string,
    name: string,
    keys: string[],
    run: () => void,
    enabled?: () => boolean,
  ): Command => ({
    id: `moment-list.${id}`,
    name,
    group: 'Moments',
    keys,
    run,
    ...(enabled && { enabled, needs: 'No moment is chosen.' }),
  })
  return [
    command('next', 'Choose the next moment', ['ArrowDown', 'N'], () => list.step(1)),
    command('previous', 'Choose the moment before', ['ArrowUp', 'Shift+N'], () => list.step(-1)),
    command('edit', 'Edit the chosen moment', ['E'], ways.edit, isChosen),
    command('see', 'See the chosen moment side by side', ['S'], withChosen(ways.see), isChosen),
    command(
      'again',
      'Fly the chosen moment again, or not',
      ['F'],
      withChosen((moment) => void shelf.edit(moment, { flyAgain: !moment.flyAgain })),
      isChosen,
    ),
    ...Array.from({ length: MOST_STARS + 1 }, (_, stars) =>
      command(
        `stars-${stars}`,
        `Give the chosen moment ${stars === 1 ? '1 star' : `${stars} stars`}`,
        [String(stars)],
        withChosen((moment) => void shelf.edit(moment, { stars })),
        isChosen,
      ),
    ),
    command(
      'remove',
      'Take the chosen moment away',
      ['Delete'],
      withChosen((moment) => void shelf.remove(moment.id)),
      isChosen,
    ),
    command('card', 'Make the field card', ['C'], ways.card),
  ]
}
