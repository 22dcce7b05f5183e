import type { FieldCard } from '../../workers/fieldcard/field-card.ts'
import type { PictureTheme } from '../../workers/picture/model.ts'
import { pictureFonts } from '../share/picture-fonts.ts'
import { pictureWorkers } from '../work/workers.ts'

/** Draws the card for a phone, off the main thread; PNG bytes. @throws Problem 'cancelled' or 'worker-died' */
export function drawCardPicture(
  card: FieldCard,
  theme: PictureTheme,
  signal: AbortSignal,
): Promise<Uint8Array<ArrayBuffer>> {
  return pictureWorkers.run((worker) => worker.drawFieldCard(card, theme, pictureFonts()), signal)
}
