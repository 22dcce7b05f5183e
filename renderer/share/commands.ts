import type { Command } from '../commands/command.ts'

/** What a comparison is shared as. */
export type Form = 'picture' | 'text' | 'page' | 'excerpt'

interface Ways {
  readonly show: (form: Form) => void
  readonly savePng: () => void
  readonly copyPicture: () => Promise<void>
  readonly copyText: () => Promise<void>
  readonly savePage: () => Promise<void>
}

/** What can be done on the Share screen, for the command registry. */
export function shareCommands(ways: Ways): Command[] {
  const command = (id: string, name: string, keys: string[], run: () => void): Command => ({
    id: `share.${id}`,
    name,
    group: 'Share',
    keys,
    run,
  })
  return [
    command('show-picture', 'Show the picture', [], () => ways.show('picture')),
    command('show-text', 'Show the text', [], () => ways.show('text')),
    command('show-page', 'Show the page', [], () => ways.show('page')),
    command('show-excerpt', 'Show the excerpt of both logs', [], () => ways.show('excerpt')),
    command('save-png', 'Save the picture as PNG', ['Ctrl+S'], ways.savePng),
    command('copy-picture', 'Copy the picture', ['Ctrl+Shift+C'], () => void ways.copyPicture()),
    command('copy-text', 'Copy the text', [], () => void ways.copyText()),
    command('save-page', 'Save the whole comparison as a page', [], () => void ways.savePage()),
  ]
}
