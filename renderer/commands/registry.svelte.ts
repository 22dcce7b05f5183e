import { untrack } from 'svelte'
import { SvelteMap } from 'svelte/reactivity'
import { keyOf, type Command, type KeyPress } from './command.ts'

/**
 * Every command that can be given at present. A screen registers its own while it is shown; menus, the palette,
 * the list of keys and key presses all draw from here.
 */
export class CommandRegistry {
  readonly #commands = new SvelteMap<string, Command>()
  readonly all: readonly Command[] = $derived([...this.#commands.values()])

  /**
   * Adds commands; returns what takes them away again. An effect of a component may do it: it reads nothing.
   * @throws Error when an id is taken
   */
  register(commands: readonly Command[]): () => void {
    for (const command of commands) {
      if (untrack(() => this.#commands.has(command.id)))
        throw new Error(`two commands are called ${command.id}`)
      this.#commands.set(command.id, command)
    }
    return () => {
      for (const { id } of commands) this.#commands.delete(id)
    }
  }

  /** The shortcuts in force for a command. */
  keysOf(command: Command): readonly string[] {
    return command.keys
  }

  /** Runs the command that a key press stands for; false when it stands for none at present. */
  press(press: KeyPress): boolean {
    const key = keyOf(press)
    const command = this.all.find((one) => key !== null && this.keysOf(one).includes(key))
    if (!command || command.enabled?.() === false) return false
    command.run()
    return true
  }
}

export const commands = new CommandRegistry()
