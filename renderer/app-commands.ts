import type { Command } from './commands/command.ts'
import { undoStack } from './commands/undo.svelte.ts'
import { session, type Screen } from './session.svelte.ts'

/** What can be done on every screen. */
export function appCommands(): Command[] {
  const pairChosen = () => session.a !== null && session.b !== null
  const screen = (id: Screen, name: string, key: string, enabled?: () => boolean): Command => ({
    id: `screen.${id}`,
    name: `Go to ${name}`,
    group: 'Screens',
    keys: [key],
    ...(enabled && { enabled }),
    run: () => session.show(id),
  })
  return [
    screen('logbook', 'the logbook', 'Alt+1'),
    screen('compare', 'side by side', 'Alt+2', pairChosen),
    screen('verdict', 'the verdict', 'Alt+3', pairChosen),
    screen('frequency', 'frequency', 'Alt+4', pairChosen),
    {
      id: 'edit.undo',
      name: 'Undo the last change',
      group: 'Changes',
      keys: ['Ctrl+Z'],
      enabled: () => undoStack.nextUndo !== null,
      run: () => void undoStack.undo(),
    },
    {
      id: 'edit.redo',
      name: 'Redo what was undone',
      group: 'Changes',
      keys: ['Ctrl+Shift+Z', 'Ctrl+Y'],
      enabled: () => undoStack.nextRedo !== null,
      run: () => void undoStack.redo(),
    },
  ]
}
