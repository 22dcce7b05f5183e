import { untrack } from 'svelte'
import { SvelteMap } from 'svelte/reactivity'
import { keyOf, type Command, type KeyPress } from './command.ts'
import { KeyBindings } from './key-bindings.svelte.ts'

/** What is remembered of a command whose screen is no longer shown. */
export type KnownCommand = Pick<Command, 'id' | 'name' | 'group' | 'keys'>

/**
 * Every command that can be given at present. A screen registers its own while it is shown; menus, the palette,
 * the list of keys and key presses all draw from here.
 */
export class CommandRegistry {
  readonly #commands = new SvelteMap<string, Command>()
  /** Of screens that were shown before as well: their shortcuts are theirs although nobody listens. */
  #known: readonly KnownCommand[] = []
  readonly all: readonly Command[] = $derived([...this.#commands.values()])
  readonly bindings = new KeyBindings()

  /**
   * Adds commands; returns what takes them away again. An effect of a component may do it: it reads nothing.
   * @throws Error when an id is taken
   */
  register(commands: readonly Command[]): () => void {
    for (const command of commands) {
      if (untrack(() => this.#commands.has(command.id)))
        throw new Error(`two commands are called ${command.id}`)
      this.#commands.set(command.id, command)
      // A copy: what a screen's commands hold on to goes with the screen.
      const known = untrack(() => ({
        id: command.id,
        name: command.name,
        group: command.group,
        keys: command.keys,
      }))
      this.#known = [...this.#known.filter(({ id }) => id !== known.id), known]
    }
    return () => {
      for (const { id } of commands) this.#commands.delete(id)
    }
  }

  find(id: string): Command | undefined {
    return this.#commands.get(id)
  }

  /** Every command that was there since the window opened, at present or not. */
  known(): readonly KnownCommand[] {
    return this.#known
  }

  /** The shortcuts in force for a command. */
  keysOf(command: Pick<Command, 'id' | 'keys'>): readonly string[] {
    return this.bindings.keysOf(command)
  }

  /** Commands, of any screen known so far, that a key stands for. */
  holdersOf(key: string): readonly KnownCommand[] {
    return this.known().filter((command) => this.keysOf(command).includes(key))
  }

  /**
   * Runs the command that a key press stands for; false when it stands for none at present. Where several have the
   * key (screens that were never shown together may), one with the pilot's own shortcut comes first.
   * @param inField a field has the focus, which takes most keys for itself
   */
  press(press: KeyPress, inField = false): boolean {
    const key = keyOf(press)
    if (key === null) return false
    const meant = this.all.filter(
      (one) =>
        this.keysOf(one).includes(key) && one.enabled?.() !== false && (!inField || one.inFields === true),
    )
    const command = meant.find((one) => this.bindings.isOwn(one)) ?? meant[0]
    command?.run()
    return command !== undefined
  }

  /** Runs a command as a menu does; nothing happens while it is disabled. */
  run(command: Command): void {
    if (command.enabled?.() !== false) command.run()
  }
}

export const commands = new CommandRegistry()

/** Commands by their groups, in the order in which the groups were first met; what can't run and says not why is left out. */
export function byGroup(
  all: readonly Command[],
): { readonly group: string; readonly members: readonly Command[] }[] {
  const shown = all.filter((command) => command.needs !== undefined || command.enabled?.() !== false)
  return Object.entries(Object.groupBy(shown, ({ group }) => group)).map(([group, members = []]) => ({
    group,
    members,
  }))
}
