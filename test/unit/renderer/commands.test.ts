import { expect, test } from 'vitest'
import { isKey, keyOf, whyNotKey, type Command, type KeyPress } from '../../../renderer/commands/command.ts'
import { findCommands } from '../../../renderer/commands/find.ts'
import { parseKeptKeys } from '../../../renderer/commands/kept-keys.ts'
import { KeyBindings } from '../../../renderer/commands/key-bindings.svelte.ts'
import { CommandRegistry } from '../../../renderer/commands/registry.svelte.ts'
import { UndoStack } from '../../../renderer/commands/undo.svelte.ts'

const press = (key: string, held: Partial<KeyPress> = {}): KeyPress => ({
  key,
  ctrlKey: false,
  metaKey: false,
  altKey: false,
  shiftKey: false,
  ...held,
})

test.each([
  [press('z'), 'Z'],
  [press('Z', { shiftKey: true, ctrlKey: true }), 'Ctrl+Shift+Z'],
  [press('z', { metaKey: true }), 'Ctrl+Z'],
  [press('?', { shiftKey: true }), '?'],
  [press('ArrowLeft', { shiftKey: true }), 'Shift+ArrowLeft'],
  [press(' ', { shiftKey: true }), 'Shift+Space'],
  [press('1', { altKey: true }), 'Alt+1'],
  [press('Shift', { shiftKey: true }), null],
])('%o is written %s', (pressed, written) => {
  expect(keyOf(pressed)).toBe(written)
})

test('a key runs the command that is there at the time, unless it is disabled', () => {
  const registry = new CommandRegistry()
  const ran: string[] = []
  let able = true
  const takeAway = registry.register([
    { id: 'a', name: 'A', group: 'G', keys: ['X'], enabled: () => able, run: () => ran.push('a') },
  ])
  expect(registry.press(press('x'))).toBe(true)
  able = false
  expect(registry.press(press('x'))).toBe(false)
  expect(() => registry.register([{ id: 'a', name: '', group: '', keys: [], run: () => {} }])).toThrow(
    /two commands/,
  )
  takeAway()
  able = true
  expect(registry.press(press('x'))).toBe(false)
  expect(ran).toEqual(['a'])
})

test('undo takes changes back newest first, redo makes them again, a new change ends redo', async () => {
  const stack = new UndoStack()
  const state: string[] = []
  const add = (name: string) => {
    state.push(name)
    stack.did({ name, undo: () => void state.pop(), redo: () => void state.push(name) })
  }
  add('one')
  add('two')
  await Promise.all([stack.undo(), stack.undo()])
  expect(state).toEqual([])
  await stack.redo()
  expect(state).toEqual(['one'])
  expect(stack.nextRedo?.name).toBe('two')
  add('three')
  expect(stack.nextRedo).toBeNull()
  await stack.undo()
  expect(state).toEqual(['one'])
})

test('what is taken back is settled when it is asked for, not when its turn comes', async () => {
  const stack = new UndoStack()
  const seen: string[] = []
  let finish = (): void => undefined
  const slow = new Promise<void>((resolve) => (finish = resolve))
  const change = (name: string, wait?: Promise<void>) => ({
    name,
    undo: async () => {
      await wait
      seen.push(`undo ${name}`)
    },
    redo: () => void seen.push(`redo ${name}`),
  })
  stack.did(change('one'))
  stack.did(change('two', slow))
  const both = [stack.undo(), stack.undo()]
  // The next would be none: both are on their way.
  expect(stack.nextUndo).toBeNull()
  stack.did(change('three'))
  expect(stack.nextUndo?.name).toBe('three')
  finish()
  await Promise.all(both)
  expect(seen).toEqual(['undo two', 'undo one'])
  expect(stack.nextUndo?.name).toBe('three')
  // Something newer was done since: what was taken back can't be made again over it.
  expect(stack.nextRedo).toBeNull()
})

test('one that fails keeps those that were asked for after it', async () => {
  const stack = new UndoStack()
  const seen: string[] = []
  stack.did({ name: 'first', undo: () => void seen.push('undo first'), redo: () => undefined })
  stack.did({ name: 'gone', undo: () => Promise.reject(new Error('gone')), redo: () => undefined })
  const [failed, next] = [stack.undo(), stack.undo()]
  await expect(failed).rejects.toThrow('gone')
  expect(await next).toBe(false)
  expect(seen).toEqual([])
  expect(stack.nextUndo?.name).toBe('gone')
  await expect(stack.undo()).rejects.toThrow('gone')
})

test('a redo asked for while the undo before it is on its way makes that change again', async () => {
  const stack = new UndoStack()
  const seen: string[] = []
  let finish = (): void => undefined
  const slow = new Promise<void>((resolve) => (finish = resolve))
  stack.did({ name: 'first', undo: () => void seen.push('undo first'), redo: () => undefined })
  stack.did({
    name: 'x',
    undo: async () => {
      await slow
      seen.push('undo x')
    },
    redo: () => void seen.push('redo x'),
  })
  const undone = stack.undo()
  expect(stack.nextRedo?.name).toBe('x')
  const redone = stack.redo()
  expect(stack.nextRedo).toBeNull()
  expect(stack.nextUndo?.name).toBe('x')
  finish()
  expect(await Promise.all([undone, redone])).toEqual([true, true])
  expect(seen).toEqual(['undo x', 'redo x'])
  expect(stack.nextUndo?.name).toBe('x')
})

test('an undo that fails gives up the redo asked for after it, below what was done since', async () => {
  const stack = new UndoStack()
  const seen: string[] = []
  let fail = (): void => undefined
  const never = new Promise<void>((_resolve, reject) => (fail = () => reject(new Error('no'))))
  const note = (name: string) => ({
    name,
    undo: () => void seen.push(`undo ${name}`),
    redo: () => void seen.push(`redo ${name}`),
  })
  stack.did(note('one'))
  stack.did({ ...note('two'), undo: () => never })
  const failed = stack.undo()
  const [redone, again] = [stack.redo(), stack.undo()]
  stack.did(note('three'))
  fail()
  await expect(failed).rejects.toThrow('no')
  expect(await Promise.all([redone, again])).toEqual([false, false])
  expect(seen).toEqual([])
  expect(stack.nextUndo?.name).toBe('three')
  await stack.undo()
  expect(stack.nextUndo?.name).toBe('two')
  expect(stack.nextRedo?.name).toBe('three')
})

test('a change that is let go of is not taken back any more, nor kept when that fails', async () => {
  const stack = new UndoStack()
  const seen: string[] = []
  let fail = (): void => undefined
  const never = new Promise<void>((_resolve, reject) => (fail = () => reject(new Error('no'))))
  const waiting = { name: 'waiting', undo: () => void seen.push('waiting'), redo: () => undefined }
  const running = { name: 'running', undo: () => never, redo: () => undefined }
  stack.did(waiting)
  stack.did(running)
  const [first, second] = [stack.undo(), stack.undo()]
  await Promise.resolve()
  stack.skip(waiting)
  stack.skip(running)
  fail()
  await expect(first).rejects.toThrow('no')
  expect(await second).toBe(false)
  expect(seen).toEqual([])
  expect([stack.nextUndo, stack.nextRedo]).toEqual([null, null])
})

test('a change that could not be taken back stays to be tried again', async () => {
  const stack = new UndoStack()
  let fails = true
  stack.did({
    name: 'x',
    undo: () => {
      if (fails) throw new Error('no')
    },
    redo: () => {},
  })
  await expect(stack.undo()).rejects.toThrow('no')
  expect(stack.nextUndo?.name).toBe('x')
  fails = false
  await stack.undo()
  expect(stack.nextUndo).toBeNull()
})

const command = (id: string, keys: string[], name = id): Command => ({
  id,
  name,
  group: 'G',
  keys,
  run: () => {},
})

test('what keyOf writes is a key; half a combination is none', () => {
  for (const key of ['Z', '+', '?', 'Ctrl+Z', 'Ctrl++', 'Ctrl+Alt+Shift+ArrowLeft', 'F5', 'Space'])
    expect(isKey(key)).toBe(true)
  for (const key of ['', 'Ctrl+', 'zz', 'Shift+Ctrl+Z', ' ', '__proto__']) expect(isKey(key)).toBe(false)
  expect(whyNotKey('Tab')).toMatch(/works buttons/)
  expect(whyNotKey('Ctrl+W')).toMatch(/window itself/)
  expect(whyNotKey('Ctrl+J')).toBeNull()
})

test('a key given to one command is taken from the others; the usual ones need no entry', () => {
  const bindings = new KeyBindings()
  const [one, two] = [command('one', ['A', 'B']), command('two', ['C'])]
  bindings.own = bindings.given(two, ['A'], [one, two])
  expect(bindings.own).toEqual({ one: ['B'], two: ['A'] })
  expect(bindings.keysOf(one)).toEqual(['B'])
  bindings.own = bindings.given(two, ['C'], [one, two])
  expect(bindings.own).toEqual({ one: ['B'] })
  bindings.own = bindings.given(one, ['A', 'B'], [one, two])
  expect(bindings.own).toEqual({})
  bindings.own = bindings.given(one, [], [one, two])
  expect(bindings.keysOf(one)).toEqual([])
})

test.each([
  ['{'],
  ['{"format":2,"keys":{}}'],
  ['{"format":1,"keys":{"a":["Tab"]}}'],
  ['{"format":1,"keys":{"a":["x"]}}'],
  ['{"format":1,"keys":{"a":"X"}}'],
])('kept shortcuts that do not fit count as none: %s', (text) => {
  expect(parseKeptKeys(text)).toBeNull()
})

test('kept shortcuts that fit hold', () => {
  expect(parseKeptKeys('{"format":1,"keys":{"a":["Ctrl+J"],"b":[]}}')).toEqual({ a: ['Ctrl+J'], b: [] })
})

test('in a field only those commands are pressed that say so', () => {
  const registry = new CommandRegistry()
  const ran: string[] = []
  registry.register([
    { ...command('a', ['X']), run: () => ran.push('a') },
    { ...command('b', ['Ctrl+K']), inFields: true, run: () => ran.push('b') },
  ])
  expect(registry.press(press('x'), true)).toBe(false)
  expect(registry.press(press('k', { ctrlKey: true }), true)).toBe(true)
  expect(ran).toEqual(['b'])
})

test('letters in their order find a command; the best comes first', () => {
  const all = ['Go to the verdict', 'Go to side by side', 'Theme: dark', 'Watched folders'].map(
    (name, index) => command(String(index), [], name),
  )
  const names = (typed: string) => findCommands(typed, all).map((found) => found.command.name)
  expect(names('')).toHaveLength(4)
  expect(names('sbs')).toEqual(['Go to side by side'])
  expect(names('thdrk')[0]).toBe('Theme: dark')
  expect(names('xyz')).toEqual([])
  const [found] = findCommands('dark', all)
  expect(found?.parts.map(({ text }) => text).join('')).toBe('Theme: dark')
  expect(found?.parts.find(({ typed }) => typed)?.text).toBe('dark')
})
