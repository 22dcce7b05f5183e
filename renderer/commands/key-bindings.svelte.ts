import type { Command } from './command.ts'

/** Shortcuts of the pilot's own, by the command's id; an empty list takes the command's shortcuts away. */
export type OwnKeys = Readonly<Record<string, readonly string[]>>

/** Which keys start which command: the ones it comes with, unless the pilot chose others. */
export class KeyBindings {
  own = $state.raw<OwnKeys>({})

  keysOf(command: Pick<Command, 'id' | 'keys'>): readonly string[] {
    return (Object.hasOwn(this.own, command.id) && this.own[command.id]) || command.keys
  }

  isOwn(command: Pick<Command, 'id'>): boolean {
    return Object.hasOwn(this.own, command.id)
  }

  /**
   * The pilot's own shortcuts after a command was given these keys and all others lost them.
   * @param others every command that is known, for taking the keys away from
   */
  given(
    command: Pick<Command, 'id' | 'keys'>,
    keys: readonly string[],
    others: readonly Pick<Command, 'id' | 'keys'>[],
  ): OwnKeys {
    const changed = others
      .filter(({ id }) => id !== command.id)
      .map((other) => ({ other, left: this.keysOf(other).filter((key) => !keys.includes(key)) }))
      .filter(({ other, left }) => left.length < this.keysOf(other).length)
    const entries = [...changed, { other: command, left: keys }]
    const untouched = Object.entries(this.own).filter(([id]) => !entries.some(({ other }) => other.id === id))
    return Object.fromEntries([
      ...untouched,
      // What a command comes with needs no entry.
      ...entries.flatMap(({ other, left }) => (isUsual(other, left) ? [] : [[other.id, left] as const])),
    ])
  }
}

const isUsual = (command: Pick<Command, 'keys'>, keys: readonly string[]): boolean =>
  keys.length === command.keys.length && keys.every((key) => command.keys.includes(key))
