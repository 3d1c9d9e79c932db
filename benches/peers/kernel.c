/* The equations of a head in a tube. */
#include <math.h>

/* Hours at which heads flag: lots x heads, over steps of `hour` hours. */
void kernel(long lots, long heads, long steps, double tube, double hour, const double *rate, const double *size,
            const double *drying, const double *decay, const double *gain, double *ends) {
#pragma omp parallel for schedule(static)
    for (long lot = 0; lot < lots; lot++) {
        const double *r = rate + lot * heads, *s = size + lot * heads;
        double *end = ends + lot * heads;
        double gone[64], water[64];
        for (long h = 0; h < heads; h++) { gone[h] = 0.0; water[h] = tube; end[h] = INFINITY; }
        for (long n = 0; n < steps; n++) {
            double d = drying[lot * steps + n], a = decay[lot * steps + n], g = gain[lot * steps + n];
            /* No fmax: it would keep the loop from going several heads at a time. */
#pragma omp simd
            for (long h = 0; h < heads; h++) {
                double dry = gone[h] + r[h] * d, wet = gone[h] * a + r[h] * d * g;
                double drunk = (dry - wet) * s[h];
                double share = drunk > water[h] ? water[h] / drunk : 1.0;
                water[h] = water[h] - share * drunk;
                water[h] = water[h] > 0.0 ? water[h] : 0.0;
                double next = dry + share * (wet - dry);
                double at = hour * ((double)n + (1.0 - gone[h]) / (next - gone[h]));
                end[h] = (next >= 1.0 && end[h] == INFINITY) ? at : end[h];
                gone[h] = next;
            }
        }
    }
}

/* The same, arranged as the program has it: ways in hours of the reference air, and no divide until the heads are through. */
void arranged(long lots, long heads, long steps, double tube, double hour, const double *rate, const double *size,
              const double *drying, const double *decay, const double *gain, double *ends) {
#pragma omp parallel for schedule(static)
    for (long lot = 0; lot < lots; lot++) {
        const double *r = rate + lot * heads, *s = size + lot * heads;
        double gone[64], water[64], limit[64], from[64], to[64], at[64];
        for (long h = 0; h < heads; h++) {
            gone[h] = 0.0; water[h] = tube / (s[h] * r[h]); limit[h] = 1.0 / r[h];
            from[h] = 0.0; to[h] = 1.0; at[h] = INFINITY;
        }
        for (long n = 0; n < steps; n++) {
            double d = drying[lot * steps + n], back = 1.0 - decay[lot * steps + n], spared = d - d * gain[lot * steps + n];
#pragma omp simd
            for (long h = 0; h < heads; h++) {
                double thirst = gone[h] * back + spared;
                double drunk = thirst < water[h] ? thirst : water[h];
                double next = gone[h] + d - drunk;
                int now = next >= limit[h] && at[h] == INFINITY;
                from[h] = now ? gone[h] : from[h];
                to[h] = now ? next : to[h];
                at[h] = now ? (double)n : at[h];
                water[h] -= drunk;
                gone[h] = next;
            }
        }
        for (long h = 0; h < heads; h++)
            ends[lot * heads + h] = hour * (at[h] + (limit[h] - from[h]) / (to[h] - from[h]));
    }
}
