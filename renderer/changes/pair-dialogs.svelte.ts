import type { SheetPair } from '../settings/sheet-pair.svelte.ts'

/** What is open over the screens of a pair, and what its two settings sheets say. */
class PairDialogState {
  open = $state<'none' | 'settings' | 'record'>('none')
  sheets = $state.raw<SheetPair | null>(null)
}

export const pairDialogs = new PairDialogState()
