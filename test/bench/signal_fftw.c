/* The same spectrogram on FFTW in single precision, for signal.bench.ts: mean taken off, Hann, one batch of frames at a
 * time, density, decibels. Compiled by the benchmark where gcc and libfftw3f are installed:
 *   gcc -O3 -march=native -ffast-math -shared -fPIC -o OUT signal_fftw.c -l:libfftw3f.so.3 -lm
 */
#include <math.h>
#include <stdlib.h>

typedef float complex_number[2];
typedef struct plan *fftwf_plan;
extern fftwf_plan fftwf_plan_many_dft_r2c(int rank, const int *n, int howmany, float *in, const int *inembed, int istride,
                                          int idist, complex_number *out, const int *onembed, int ostride, int odist,
                                          unsigned flags);
extern void fftwf_execute(const fftwf_plan);
extern void *fftwf_malloc(size_t);

enum { SIZE = 512, BINS = 257, LOT = 64 };
static fftwf_plan plan;
static float *rows;
static complex_number *spectra;
static float window[SIZE];

void prepare(void) {
  const int n[1] = {SIZE};
  rows = fftwf_malloc(sizeof(float) * LOT * SIZE);
  spectra = fftwf_malloc(sizeof(complex_number) * LOT * BINS);
  for (int k = 0; k < SIZE; k++) window[k] = 0.5f - 0.5f * cosf(2 * (float)M_PI * k / SIZE);
  /* 0: FFTW_MEASURE */
  plan = fftwf_plan_many_dft_r2c(1, n, LOT, rows, NULL, 1, SIZE, spectra, NULL, 1, BINS, 0);
}

void spectrogram(const float *samples, int frames, int hop, float scale, float *out) {
  for (int first = 0; first < frames; first += LOT) {
    const int start = first + LOT > frames ? frames - LOT : first;
    for (int f = 0; f < LOT; f++) {
      const float *s = samples + (size_t)(start + f) * hop;
      float *row = rows + f * SIZE;
      float mean = 0;
      for (int k = 0; k < SIZE; k++) mean += s[k];
      mean /= SIZE;
      for (int k = 0; k < SIZE; k++) row[k] = (s[k] - mean) * window[k];
    }
    fftwf_execute(plan);
    for (int f = 0; f < LOT; f++) {
      const complex_number *x = spectra + f * BINS;
      float *level = out + (size_t)(start + f) * BINS;
      for (int k = 0; k < BINS; k++) {
        const float p = (x[k][0] * x[k][0] + x[k][1] * x[k][1]) * (k == 0 || k == BINS - 1 ? scale : 2 * scale);
        level[k] = 10 * log10f(p > 1e-12f ? p : 1e-12f);
      }
    }
  }
}
