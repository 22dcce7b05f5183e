import { commands } from './registry.svelte.ts'

/** Inputs in which nothing is typed. */
const NOT_TYPED_IN = ['checkbox', 'radio', 'button', 'submit', 'file']

/**
 * Gives a key press to the registry, unless it belongs to what has the focus: a field takes what is typed, a button its
 * Enter and Space, and a dialog or menu is over everything that a command would act on.
 */
export function keydown(event: KeyboardEvent): void {
  if (event.defaultPrevented || event.isComposing) return
  const target = event.target instanceof HTMLElement ? event.target : null
  // One that has just closed may hold the focus until the next frame; it is over nothing any more.
  if (target?.closest('dialog[open], :popover-open')) return
  if (['Enter', ' '].includes(event.key) && target?.closest('button, summary, a, input, select, textarea'))
    return
  const field = target?.closest('input, select, textarea')
  const inField = field instanceof HTMLInputElement ? !NOT_TYPED_IN.includes(field.type) : Boolean(field)
  if (commands.press(event, inField)) event.preventDefault()
}
