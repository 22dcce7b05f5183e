/** Which of the window's own sheets is open over the screens: lists of commands, or what is done to the whole library. */
class ShownList {
  now = $state<'none' | 'palette' | 'keys' | 'library'>('none')

  close(): void {
    this.now = 'none'
  }
}

export const shownList = new ShownList()
