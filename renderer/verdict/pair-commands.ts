import type { Command } from '../commands/command.ts'
import type { Comparison } from '../compare/comparison.svelte.ts'
import { visitPair } from './pair-span.ts'

/** Going through the pairs of like manoeuvres, on every screen of the two flights, for the command registry. */
export function pairCommands(comparison: Comparison): Command[] {
  const { verdict } = comparison
  const go = (by: 1 | -1) => () => {
    const line = verdict.step(by)
    if (line) visitPair(comparison, line.pair)
  }
  const command = (
    id: string,
    name: string,
    keys: string[],
    enabled: () => boolean,
    run: () => void,
  ): Command => ({
    id: `pair.${id}`,
    name,
    group: 'Pairs of like manoeuvres',
    keys,
    enabled,
    run,
  })
  const some = () => verdict.lines.length > 0
  return [
    command('next', 'Take both flights to the next pair', ['N'], some, go(1)),
    command('previous', 'Take both flights to the pair before', ['Shift+N'], some, go(-1)),
    command(
      'leave-out',
      'Leave out the pair that is looked at',
      [],
      () => verdict.pair !== null,
      () => {
        const pair = verdict.pair?.pair
        if (pair) void verdict.leaveOut({ side: 'a', id: pair.a }, { side: 'b', id: pair.b })
      },
    ),
  ]
}
