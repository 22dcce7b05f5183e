import type { Command } from '../commands/command.ts'
import type { Comparison } from './comparison.svelte.ts'
import { frequencyAxis, valuesAxis } from './pointer.ts'
import { stepFrom } from './readout.ts'
import { heightInWindow } from './row-drag.ts'
import { goToManoeuvre, goToPair } from './steps.ts'
import { zoomPart } from './view.svelte.ts'

/** A row's height grows by so many pixels a key press, and its scale by this factor. */
const TALLER_PX = 16
const DRAW_OUT = 1 / 1.25

/** What can be done side by side, for the command registry. */
export function compareCommands(comparison: Comparison, share: () => void): Command[] {
  return [
    ...timeCommands(comparison),
    ...placeCommands(comparison),
    ...alignCommands(comparison),
    ...rowCommands(comparison),
    ...laneCommands(comparison),
    command('share', 'Share what is visible: picture, text, excerpt', ['P'], share),
  ]
}

function command(
  id: string,
  name: string,
  keys: string[],
  run: () => void,
  enabled?: () => boolean,
  on?: () => boolean,
): Command {
  return {
    id: `compare.${id}`,
    name,
    group: 'Side by side',
    keys,
    run,
    ...(enabled && { enabled }),
    ...(on && { on }),
  }
}

function timeCommands(comparison: Comparison): Command[] {
  const { view } = comparison
  const step = (by: -1 | 1) => () => {
    if (!comparison.a) return
    const middle_s = (view.span.t0_s + view.span.t1_s) / 2
    comparison.snappedTo = ''
    comparison.cursor_s =
      comparison.cursor_s === null ? middle_s : stepFrom(comparison.a.signals, comparison.cursor_s, by)
  }
  const zoom = (by: number) => () => view.zoom(by, comparison.cursor_s ?? undefined)
  return [
    command('step-back', 'Move the cursor back by one sample of A', ['ArrowLeft'], step(-1)),
    command('step-on', 'Move the cursor on by one sample of A', ['ArrowRight'], step(1)),
    command('pan-back', 'Pan back', ['Shift+ArrowLeft'], () => view.pan(-0.1)),
    command('pan-on', 'Pan on', ['Shift+ArrowRight'], () => view.pan(0.1)),
    command('zoom-in', 'Zoom in about the cursor', ['+', '='], zoom(1 / 1.5)),
    command('zoom-out', 'Zoom out about the cursor', ['-'], zoom(1.5)),
    command('whole', 'Show both flights whole', ['Home'], () => view.showWhole()),
    command(
      'back',
      'Go back to the view before',
      ['['],
      () => view.back(),
      () => view.canGoBack,
    ),
    command(
      'forward',
      'Go forward to the next view',
      [']'],
      () => view.forward(),
      () => view.canGoForward,
    ),
    command('mark-1', 'Set the first mark at the cursor, or take it away', ['1'], () => comparison.mark(0)),
    command('mark-2', 'Set the second mark at the cursor, or take it away', ['2'], () => comparison.mark(1)),
    command('arrangement', 'Switch between overlaid and beside', ['O'], () => {
      comparison.arrangement = comparison.arrangement === 'overlaid' ? 'beside' : 'overlaid'
    }),
  ]
}

function placeCommands(comparison: Comparison): Command[] {
  const known = () => comparison.verdict.found !== null
  const paired = () => (comparison.verdict.found?.pairs.length ?? 0) > 0
  return [
    command('next-manoeuvre', 'Go to the next manoeuvre', ['J'], () => goToManoeuvre(comparison, 1), known),
    command(
      'previous-manoeuvre',
      'Go to the manoeuvre before',
      ['Shift+J'],
      () => goToManoeuvre(comparison, -1),
      known,
    ),
    command('next-pair', 'Go to the next pair', ['Ctrl+ArrowRight'], () => goToPair(comparison, 1), paired),
    command(
      'previous-pair',
      'Go to the pair before',
      ['Ctrl+ArrowLeft'],
      () => goToPair(comparison, -1),
      paired,
    ),
    command(
      'snap',
      'Let the cursor snap to manoeuvres, or not',
      ['Shift+S'],
      () => (comparison.snap = !comparison.snap),
      undefined,
      () => comparison.snap,
    ),
    command(
      'show-all',
      'Show all traces again',
      ['Escape'],
      () => comparison.isolate(null),
      () => comparison.alone !== null,
    ),
  ]
}

function alignCommands(comparison: Comparison): Command[] {
  const moveB = (by_s: number) => () => comparison.setOffset(comparison.offset_s + by_s)
  return [
    command('b-earlier', 'Move B 10 ms earlier', [','], moveB(-0.01)),
    command('b-later', 'Move B 10 ms later', ['.'], moveB(0.01)),
    command('align', 'Lay B over A by the sticks', ['L'], () => comparison.alignAutomatically()),
  ]
}

function rowCommands(comparison: Comparison): Command[] {
  const { rows } = comparison
  const there = () => rows.current !== null
  const onRow = (act: (id: string) => void) => () => {
    if (rows.current !== null) act(rows.current)
  }
  const divider = (by: number) => () => {
    if (rows.divider !== null) taller(by)(rows.divider)
  }
  const taller = (by_px: number) => (id: string) => rows.resize(id, heightInWindow(id) + by_px)
  const onDivider = () => rows.divider !== null
  const rowCommand = (id: string, name: string, key: string, act: (id: string) => void) =>
    command(id, name, [key], onRow(act), there)
  const drawOut = (factor: number) => (id: string) => {
    const axis = id.startsWith('lane.') ? frequencyAxis(comparison) : valuesAxis(comparison, id)
    // About zero for rates, whose scale is symmetrical; from the bottom for frequencies.
    axis.show(zoomPart(axis.part(), factor, id.startsWith('lane.') ? 0 : 0.5))
  }
  return [
    command('fit-rows', 'Fit the rows to what is visible', ['F'], () => comparison.fitScales()),
    rowCommand('fold-row', 'Fold the row up, or open it', 'C', (id) => rows.collapse(id)),
    rowCommand('row-up', 'Move the row up', 'Alt+ArrowUp', (id) => rows.move(id, -1)),
    rowCommand('row-down', 'Move the row down', 'Alt+ArrowDown', (id) => rows.move(id, 1)),
    rowCommand('row-taller', 'Make the row taller', 'Alt+Shift+ArrowDown', taller(TALLER_PX)),
    rowCommand('row-lower', 'Make the row lower', 'Alt+Shift+ArrowUp', taller(-TALLER_PX)),
    rowCommand('row-draw-out', 'Draw the row’s scale out', 'Shift+ArrowUp', drawOut(DRAW_OUT)),
    rowCommand('row-draw-in', 'Draw the row’s scale in', 'Shift+ArrowDown', drawOut(1 / DRAW_OUT)),
    command('divider-down', 'Move the chosen divider down', ['ArrowDown'], divider(TALLER_PX / 2), onDivider),
    command('divider-up', 'Move the chosen divider up', ['ArrowUp'], divider(-TALLER_PX / 2), onDivider),
    command(
      'lock',
      'Lock the flights’ scales, or let each have its own',
      ['Y'],
      () => {
        rows.lock(!rows.locked)
        comparison.fitScales()
      },
      undefined,
      () => rows.locked,
    ),
  ]
}

function laneCommands(comparison: Comparison): Command[] {
  const { lanes, view } = comparison
  const SHOWS = ['both', 'a', 'b', 'difference'] as const
  return [
    command('lane-show', 'Spectrograms: both, A, B, difference in turn', ['D'], () => {
      comparison.showLanes(SHOWS[(SHOWS.indexOf(lanes.show) + 1) % SHOWS.length] ?? 'both')
    }),
    command(
      'rotor-lines',
      'Lay the motors’ lines over the spectrograms, or take them away',
      ['Shift+R'],
      () => comparison.showRotorLines(!lanes.lines),
      undefined,
      () => lanes.lines,
    ),
    command('fit-levels', 'Fit the range of levels', ['Shift+F'], () => lanes.fit()),
    command('all-frequencies', 'Show all frequencies', ['Shift+Home'], () =>
      view.showFrequencies({ from: 0, to: 1 }),
    ),
  ]
}
