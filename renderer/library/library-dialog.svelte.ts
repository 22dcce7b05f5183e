/** Whether what is done to the whole library stands open over the window. */
class LibraryDialogState {
  isOpen = $state(false)
}

export const libraryDialog = new LibraryDialogState()
