import type { Command } from '../commands/command.ts'
import type { Comparison } from './comparison.svelte.ts'
import { stepFrom } from './readout.ts'

/** What can be done side by side, for the command registry. */
export function compareCommands(comparison: Comparison, openPicture: () => void): Command[] {
  const { view } = comparison
  const step = (by: -1 | 1) => () => {
    if (!comparison.a) return
    const middle_s = (view.span.t0_s + view.span.t1_s) / 2
    comparison.cursor_s =
      comparison.cursor_s === null ? middle_s : stepFrom(comparison.a.signals, comparison.cursor_s, by)
  }
  const zoom = (by: number) => () => view.zoom(by, comparison.cursor_s ?? undefined)
  const moveB = (by_s: number) => () => comparison.setOffset(comparison.offset_s + by_s)
  const command = (id: string, name: string, keys: string[], run: () => void): Command => ({
    id: `compare.${id}`,
    name,
    group: 'Side by side',
    keys,
    run,
  })
  return [
    command('step-back', 'Move the cursor back by one sample of A', ['ArrowLeft'], step(-1)),
    command('step-on', 'Move the cursor on by one sample of A', ['ArrowRight'], step(1)),
    command('pan-back', 'Pan back', ['Shift+ArrowLeft'], () => view.pan(-0.1)),
    command('pan-on', 'Pan on', ['Shift+ArrowRight'], () => view.pan(0.1)),
    command('zoom-in', 'Zoom in about the cursor', ['+', '='], zoom(1 / 1.5)),
    command('zoom-out', 'Zoom out about the cursor', ['-'], zoom(1.5)),
    command('whole', 'Show both flights whole', ['Home'], () => view.showWhole()),
    command('back', 'Go back to the view before', ['['], () => view.back()),
    command('forward', 'Go forward to the next view', [']'], () => view.forward()),
    command('b-earlier', 'Move B 10 ms earlier', [','], moveB(-0.01)),
    command('b-later', 'Move B 10 ms later', ['.'], moveB(0.01)),
    command('mark-1', 'Set the first mark at the cursor, or take it away', ['1'], () => comparison.mark(0)),
    command('mark-2', 'Set the second mark at the cursor, or take it away', ['2'], () => comparison.mark(1)),
    command('arrangement', 'Switch between overlaid and beside', ['O'], () => {
      comparison.arrangement = comparison.arrangement === 'overlaid' ? 'beside' : 'overlaid'
    }),
    command('picture', 'Make the comparison picture', ['P'], openPicture),
  ]
}
