import { expect, test } from 'vitest'
import { keyOf, type KeyPress } from '../../../renderer/commands/command.ts'
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
