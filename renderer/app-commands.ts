import type { Command } from './commands/command.ts'
import { shownList } from './commands/shown.svelte.ts'
import { redo, undo } from './commands/take-back.ts'
import { undoStack } from './commands/undo.svelte.ts'
import { libraryDialog } from './library/library-dialog.svelte.ts'
import { session, type Screen } from './session.svelte.ts'
import { theme, type ThemeChoice } from './theme/theme.svelte.ts'

const CHOOSE_FIRST = 'Choose flight A and flight B in the logbook first.'

/** What can be done on every screen. */
export function appCommands(): Command[] {
  const pairChosen = () => session.a !== null && session.b !== null
  const screen = (id: Screen, name: string, key: string, ofPair = true): Command => ({
    id: `screen.${id}`,
    name: `Go to ${name}`,
    group: 'Screens',
    keys: [key],
    ...(ofPair && { enabled: pairChosen, needs: CHOOSE_FIRST }),
    on: () => session.screen === id,
    run: () => session.show(id),
  })
  const themeOf = (choice: ThemeChoice, name: string): Command => ({
    id: `theme.${choice}`,
    name,
    group: 'Window',
    keys: [],
    on: () => theme.choice === choice,
    run: () => session.setTheme(choice),
  })
  return [
    screen('logbook', 'the logbook', 'Alt+1', false),
    screen('compare', 'side by side', 'Alt+2'),
    screen('verdict', 'the verdict', 'Alt+3'),
    screen('frequency', 'frequency', 'Alt+4'),
    screen('moments', 'the moments', 'Alt+5', false),
    screen('changes', 'the trail of changes', 'Alt+6', false),
    screen('share', 'sharing', 'Alt+7'),
    {
      id: 'edit.undo',
      get name() {
        const change = undoStack.nextUndo
        return change ? `Undo: ${change.name}` : 'Undo'
      },
      group: 'Changes',
      keys: ['Ctrl+Z'],
      enabled: () => undoStack.nextUndo !== null,
      needs: 'Nothing was changed since the window opened.',
      run: () => void undo(),
    },
    {
      id: 'edit.redo',
      get name() {
        const change = undoStack.nextRedo
        return change ? `Redo: ${change.name}` : 'Redo'
      },
      group: 'Changes',
      keys: ['Ctrl+Shift+Z', 'Ctrl+Y'],
      enabled: () => undoStack.nextRedo !== null,
      needs: 'Nothing was undone.',
      run: () => void redo(),
    },
    {
      id: 'pair.swap',
      name: 'Swap A and B',
      group: 'Changes',
      keys: ['Alt+S'],
      enabled: pairChosen,
      needs: CHOOSE_FIRST,
      run: () => session.swap(),
    },
    {
      id: 'window.palette',
      name: 'Find a command or a flight',
      group: 'Window',
      keys: ['Ctrl+K'],
      inFields: true,
      run: () => (shownList.now = 'palette'),
    },
    {
      id: 'window.keys',
      name: 'List and change the keys',
      group: 'Window',
      keys: ['?'],
      run: () => (shownList.now = 'keys'),
    },
    {
      id: 'window.library',
      name: 'Export and import the library and the settings…',
      group: 'Window',
      keys: [],
      run: () => (libraryDialog.isOpen = true),
    },
    themeOf('system', 'Theme: as the system'),
    themeOf('light', 'Theme: light'),
    themeOf('dark', 'Theme: dark'),
  ]
}
