/** Which of the lists of commands is open over the window. */
class ShownList {
  now = $state<'none' | 'palette' | 'keys'>('none')

  /** Told of a list that closed, after another may have opened. */
  closed(which: 'palette' | 'keys'): void {
    if (this.now === which) this.now = 'none'
  }
}

export const shownList = new ShownList()
