import { createRequire } from 'node:module'
import { createCanvas, GlobalFonts } from '@napi-rs/canvas'
import { drawCard, layOutCard } from '../../workers/fieldcard/card-picture.ts'
import { cardAsText } from '../../workers/fieldcard/card-text.ts'
import type { FieldCard } from '../../workers/fieldcard/field-card.ts'
import { composeComparison, pictureSize } from '../../workers/picture/compose.ts'
import { describeComparison } from '../../workers/picture/describe.ts'
import type { ComparisonPicture, PictureTheme } from '../../workers/picture/model.ts'
import { addPngText } from '../../workers/picture/png-text.ts'
import { SvgContext } from '../../workers/picture/svg-context.ts'
import { plainLine } from '../../workers/picture/text.ts'
import { PICTURE_FONT } from '../../workers/picture/theme.ts'

let fontsLoaded = false

/** Loads the picture's typeface from the program's own files, so that no picture depends on installed fonts. */
export function loadPictureFonts(): void {
  if (fontsLoaded) return
  const require = createRequire(import.meta.url)
  for (const file of ['DejaVuSans.ttf', 'DejaVuSans-Bold.ttf']) {
    const path = require.resolve(`dejavu-fonts-ttf/ttf/${file}`)
    if (GlobalFonts.registerFromPath(path, PICTURE_FONT) === null) throw new Error(`no font in ${path}`)
  }
  fontsLoaded = true
}

/**
 * The comparison picture as PNG bytes, drawn without a window, with title and description embedded.
 * Errors: as composeComparison.
 */
export async function drawComparisonPng(model: ComparisonPicture): Promise<Uint8Array> {
  loadPictureFonts()
  const size = pictureSize(model)
  const canvas = createCanvas(size.canvasWidth, size.canvasHeight)
  composeComparison(canvas.getContext('2d'), model)
  const png = await canvas.encode('png')
  return addPngText(png, {
    Title: plainLine(model.title),
    Description: describeComparison(model),
    Software: model.footer.program,
  })
}

/** The field card for a phone as PNG bytes, its text embedded. */
export async function drawFieldCardPng(card: FieldCard, theme: PictureTheme): Promise<Uint8Array> {
  loadPictureFonts()
  const layout = layOutCard(createCanvas(1, 1).getContext('2d'), card)
  const canvas = createCanvas(layout.width_px, layout.height_px)
  drawCard(canvas.getContext('2d'), layout, theme)
  return addPngText(await canvas.encode('png'), {
    Title: `Fly again: ${card.craft}`,
    Description: cardAsText(card),
    Software: 'Twopack',
  })
}

/** The same picture as SVG: curves and text stay sharp at any size. Errors: as composeComparison. */
export async function drawComparisonSvg(model: ComparisonPicture): Promise<string> {
  loadPictureFonts()
  const context = new SvgContext(createCanvas(1, 1).getContext('2d'))
  composeComparison(context, model)
  return context.toSvg(pictureSize(model), model.title, describeComparison(model))
}
