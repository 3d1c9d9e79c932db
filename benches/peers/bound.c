/* How fast one core multiplies and divides. Built without leave to rearrange arithmetic, or 3 / (3 / x) would be x. */
#ifndef LANES
#define LANES 4
#endif
typedef double lanes __attribute__((vector_size(8 * LANES)));
enum { SIDE_BY_SIDE = 10 }; /* enough to hide latency, few enough for registers */

#define ROUNDS(name, step)                                          \
    double name(long rounds) {                                      \
        lanes x[SIDE_BY_SIDE], sum = {0};                            \
        for (int i = 0; i < SIDE_BY_SIDE; i++) x[i] = sum + 1.5 + i; \
        for (long n = 0; n < rounds; n++)                           \
            _Pragma("GCC unroll 10") for (int i = 0; i < SIDE_BY_SIDE; i++) x[i] = step; \
        for (int i = 0; i < SIDE_BY_SIDE; i++) sum += x[i];         \
        double all = 0;                                             \
        for (int i = 0; i < LANES; i++) all += sum[i];              \
        return all;                                                 \
    }

ROUNDS(fma_rounds, x[i] * 0.999 + 0.001)
ROUNDS(divide_rounds, 3.0 / x[i])
