import type { Command } from '../commands/command.ts'
import { session } from '../session.svelte.ts'
import type { ListQuery } from './flight-list.svelte.ts'
import { groupOf, type Layout } from './lines.ts'
import { logbook } from './logbook.svelte.ts'

const GROUP = 'Logbook'
/** Lines that a page key goes on by. */
const PAGE_LINES = 10

/** What can be done in the logbook, whether it holds flights or not. */
export function logbookScreenCommands(can: {
  addLogs: () => void
  addFolder: () => void
  search: () => void
}): Command[] {
  const command = (id: string, name: string, keys: string[], run: () => void): Command => ({
    id: `logbook.${id}`,
    name,
    group: GROUP,
    keys,
    run,
  })
  const groupBy = (group: ListQuery['group'], name: string): Command => ({
    ...command(`group-${group}`, name, [], () => logbook.list.change({ group })),
    on: () => logbook.list.query.group === group,
  })
  return [
    command('add', 'Add logs…', ['Ctrl+O'], can.addLogs),
    command('add-folder', 'Add a folder…', [], can.addFolder),
    command('folders', 'Watched folders…', [], () => (logbook.showsFolders = true)),
    command('search', 'Search the logbook', ['/', 'Ctrl+F'], can.search),
    groupBy('craft-day', 'Group by craft and day'),
    groupBy('craft', 'Group by craft'),
    groupBy('day', 'Group by day'),
    groupBy('none', 'Show flights in one list'),
  ]
}

/** What can be done with the lines of the list. `layout` tells where they stand now. */
export function logbookCommands(layout: () => Layout, open: (flightId: number) => void): Command[] {
  const { cursor, list } = logbook
  const atCursor = () => (cursor.index === null ? undefined : list.at(cursor.index))
  const move = (id: string, name: string, key: string, by: number): Command => ({
    id: `logbook.${id}`,
    name,
    group: 'Flights',
    keys: [key],
    run: () => cursor.step(layout(), by),
  })
  const withFlight = (
    id: string,
    name: string,
    keys: string[],
    run: (flightId: number) => void,
  ): Command => ({
    id: `logbook.${id}`,
    name,
    group: 'Flights',
    keys,
    enabled: () => atCursor() !== undefined,
    needs: 'Go to a flight with the arrow keys first.',
    run: () => {
      const flight = atCursor()
      if (flight) run(flight.id)
    },
  })
  const fold = (folded: boolean) => () => {
    const group = groupOf(layout(), cursor.index ?? 0)
    if (group) cursor.fold(group, folded)
  }
  const folding = (id: string, name: string, keys: string[], run: () => void): Command => ({
    id: `logbook.${id}`,
    name,
    group: 'Flights',
    keys,
    enabled: () => list.groups.length > 0,
    needs: 'The flights are not grouped.',
    run,
  })
  return [
    move('next', 'Go to the next flight', 'ArrowDown', 1),
    move('previous', 'Go to the flight before', 'ArrowUp', -1),
    move('page-on', 'Go on by a page', 'PageDown', PAGE_LINES),
    move('page-back', 'Go back by a page', 'PageUp', -PAGE_LINES),
    move('first', 'Go to the first flight', 'Home', -Infinity),
    move('last', 'Go to the last flight', 'End', Infinity),
    withFlight('take-a', 'Take the flight as A, before', ['A'], (id) => session.choose('a', id)),
    withFlight('take-b', 'Take the flight as B, after', ['B'], (id) => session.choose('b', id)),
    withFlight('open', 'Show the details of the flight', ['Enter'], open),
    withFlight('remove', 'Remove the flight from the logbook', ['Delete'], (id) => void logbook.remove(id)),
    folding('fold', 'Fold this group up', ['ArrowLeft'], fold(true)),
    folding('unfold', 'Unfold this group', ['ArrowRight'], fold(false)),
    folding('fold-all', 'Fold all groups up', ['Shift+ArrowLeft'], () =>
      list.groups.forEach((group) => cursor.fold(group, true)),
    ),
    folding('unfold-all', 'Unfold all groups', ['Shift+ArrowRight'], () => cursor.folded.clear()),
  ]
}
