/* A series line at many flows: equal bores merged, and part by part. */
#include "friction.h"

/* sums: cracking pressure, viscous, media, inertial; pipes: bore, length, roughness, end factor;
   fluid: density, viscosity, wax multiplier. */
void merged_losses(int points, const double *flows, const double *sums, int pipes,
                   const double *pipe, const double *fluid, double *losses)
{
    for (int i = 0; i < points; i++) {
        double flow = flows[i];
        double loss = sums[0] + fluid[1] * (sums[1] + fluid[2] * sums[2]) * flow
                      + fluid[0] * sums[3] * flow * flow;
        for (int k = 0; k < pipes; k++) {
            const double *at = pipe + 4 * k;
            loss += pipe_loss(flow, at[0], at[1], at[2], at[3], fluid[0], fluid[1]);
        }
        losses[i] = loss;
    }
}

/* rows: cracking pressure, viscous, media, inertial, bore, length, roughness, end factor. */
void part_losses(int points, const double *flows, int parts, const double *rows,
                 const double *fluid, double *losses)
{
    for (int i = 0; i < points; i++) {
        double flow = flows[i];
        double loss = 0.0;
        for (int k = 0; k < parts; k++) {
            const double *at = rows + 8 * k;
            loss += at[0] + fluid[1] * (at[1] + fluid[2] * at[2]) * flow
                    + fluid[0] * at[3] * flow * flow;
            if (at[5] > 0.0)
                loss += pipe_loss(flow, at[4], at[5], at[6], at[7], fluid[0], fluid[1]);
        }
        losses[i] = loss;
    }
}
