// The sine and cosine of single precision as the GNU C library has them, value
// for value: with those of another C library libsoxr makes other twiddle
// factors, and the page other bytes than the program.
//
// The polynomials and the reduction are those of Arm Ltd, "Optimized Routines",
// math/sincosf.h (MIT licence, copyright 2018 Arm Limited).
#include <math.h>
#include <stdint.h>

static const double COSINE[] = {1.0,
                                -0x1.ffffffd0c621cp-2,
                                0x1.55553e1068f19p-5,
                                -0x1.6c087e89a359dp-10,
                                0x1.99343027bf8c3p-16};
static const double SINE[] = {-0x1.555545995a603p-3,
                              0x1.1107605230bc4p-7,
                              -0x1.994eb3774cf24p-13};

static const double QUARTER = 0x1.921fb54442d18p0;

// Quarters of a turn per radian, times 2^24.
static const double QUARTERS_PER_RAD = 0x1.45f306dc9c883p+23;

// The reduction holds below this angle.
static const float MOST_RAD = 120.0F;

static double
sine(double x) {
  const double x2 = x * x;
  const double x3 = x * x2;
  return x + x3 * SINE[0] + x3 * x2 * (SINE[1] + x2 * SINE[2]);
}

static double
cosine(double x) {
  const double x2 = x * x;
  const double x4 = x2 * x2;
  return COSINE[0] + x2 * COSINE[1] + x4 * COSINE[2] +
         x4 * x2 * (COSINE[3] + x2 * COSINE[4]);
}

/// The sine of an angle and so many quarters of a turn.
static float
turned(double angle, int32_t quarters) {
  const int32_t n = ((int32_t)(angle * QUARTERS_PER_RAD) + 0x800000) >> 24;
  const double  rest = angle - n * QUARTER;
  const double  value = (n + quarters) & 1 ? cosine(rest) : sine(rest);
  return (float)((n + quarters) & 2 ? -value : value);
}

float
sinf(float x) {
  return fabsf(x) < MOST_RAD ? turned(x, 0) : (float)sin((double)x);
}

float
cosf(float x) {
  return fabsf(x) < MOST_RAD ? turned(x, 1) : (float)cos((double)x);
}
