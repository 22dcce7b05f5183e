import { isProblem } from '../../workers/log/problems.ts'
import { said } from './said.svelte.ts'
import { undoStack, type Undoable } from './undo.svelte.ts'

/** Takes the newest change back, and says so; what can't be taken back is said in a sentence. */
export const undo = (): Promise<void> => carryOut('Undone', undoStack.nextUndo, () => undoStack.undo())

/** Makes the change again that was taken back last, and says so. */
export const redo = (): Promise<void> => carryOut('Redone', undoStack.nextRedo, () => undoStack.redo())

async function carryOut(word: string, change: Undoable | null, work: () => Promise<boolean>): Promise<void> {
  if (!change) return
  try {
    // When one asked for earlier failed, that is what is told.
    if (!(await work())) return
    said.say({ kind: 'done', text: `${word}: ${change.name}.` })
  } catch (error) {
    if (!isProblem(error)) throw error
    said.say({
      kind: 'failed',
      text: `${word === 'Undone' ? 'Not undone' : 'Not redone'}: ${change.name}. ${error.message}`,
      action: { name: 'Leave it as it is', run: () => undoStack.skip(change) },
    })
  }
}
