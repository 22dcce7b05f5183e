import fuzzysort from 'fuzzysort'
import type { Command } from './command.ts'

/** A command that fits what was typed, and the parts of its name, of which every other was typed. */
export interface Found {
  readonly command: Command
  readonly parts: readonly { readonly text: string; readonly typed: boolean }[]
}

/** Matches worse than this, of 0 to 1, are left out, and those that are this much worse than the best one. */
const WORST = 0.2
const OF_BEST = 0.6

/**
 * Commands that fit what was typed, best first: its letters must stand in the name (or in the group and the name) in
 * their order. With nothing typed all of them, in their own order.
 */
export function findCommands(typed: string, all: readonly Command[]): Found[] {
  const text = typed.trim()
  if (text === '') return all.map((command) => ({ command, parts: [{ text: command.name, typed: false }] }))
  const found = fuzzysort.go(text, all, {
    keys: [({ name }: Command) => name, ({ group, name }: Command) => `${group} ${name}`],
    threshold: WORST,
    limit: 60,
  })
  const best = found[0]?.score ?? 0
  return found
    .filter(({ score }) => score >= best * OF_BEST)
    .map((result) => ({ command: result.obj, parts: partsOf(result.obj.name, result[0]?.indexes ?? []) }))
}

function partsOf(name: string, indexes: ReadonlyArray<number>): Found['parts'] {
  const typed = new Set(indexes)
  const parts: { text: string; typed: boolean }[] = []
  ;[...name].forEach((letter, index) => {
    const last = parts.at(-1)
    if (last?.typed === typed.has(index)) last.text += letter
    else parts.push({ text: letter, typed: typed.has(index) })
  })
  return parts
}
