/** Which of the lists of commands is open over the window. */
class ShownList {
  now = $state<'none' | 'palette' | 'keys'>('none')

  close(): void {
    this.now = 'none'
  }
}

export const shownList = new ShownList()
