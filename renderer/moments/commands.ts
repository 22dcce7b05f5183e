import type { Command } from '../commands/command.ts'
import { SIDES } from '../compare/comparison.svelte.ts'
import type { PairMoments } from './pair-moments.svelte.ts'
import { shelf } from './shelf.svelte.ts'

/** What can be done with moments side by side, for the command registry. */
export function pairMomentCommands(moments: PairMoments): Command[] {
  const some = () => moments.inOrder.length > 0
  const one = () => moments.chosen !== null
  const command = (
    id: string,
    name: string,
    keys: string[],
    run: () => void,
    enabled?: () => boolean,
  ): Command => ({
    id: `moments.${id}`,
    name,
    group: 'Moments',
    keys,
    run,
    ...(enabled && { enabled, needs: enabled === some ? 'No moment is marked.' : 'No moment is chosen.' }),
  })
  return [
    command('mark', 'Mark the time at the cursor in A and B', ['M'], () => void moments.mark(SIDES, false)),
    command('mark-a', 'Mark the time at the cursor in A', ['Shift+A'], () => void moments.mark(['a'], false)),
    command('mark-b', 'Mark the time at the cursor in B', ['Shift+B'], () => void moments.mark(['b'], false)),
    command(
      'mark-span',
      'Mark the span between the two marks, or what is visible',
      ['Shift+M'],
      () => void moments.mark(SIDES, true),
    ),
    command('next', 'Go to the next moment', ['K'], () => moments.step(1), some),
    command('previous', 'Go to the moment before', ['Shift+K'], () => moments.step(-1), some),
    command('edit', 'Edit the chosen moment', ['E'], () => moments.edit(moments.chosenId ?? ''), one),
    command(
      'remove',
      'Take the chosen moment away',
      ['Delete'],
      () => void (moments.chosenId && shelf.remove(moments.chosenId)),
      one,
    ),
  ]
}
