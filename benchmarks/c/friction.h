/* Friction of a round pipe by the project's default rule, the formulas of physics/friction.py and
   physics/losses.py written out: 64/Re up to 2000, Colebrook from 4000, a straight line between,
   its end a constant of each bore. */
#ifndef FRICTION_H
#define FRICTION_H
#include <math.h>

static const double PI = 3.14159265358979323846;
static const double PER_LN10 = 0.43429448190325182765;

static inline double colebrook(double reynolds, double relative_roughness)
{
    double rough = relative_roughness / 3.7;
    double smooth = 2.51 / reynolds;
    double root = -1.8 * PER_LN10 * log(rough + 6.9 / reynolds);
    for (int step = 0; step < 2; step++) {
        double inside = rough + smooth * root;
        double residual = root + 2.0 * PER_LN10 * log(inside);
        double bend = smooth / inside;
        double slope = 1.0 + 2.0 * PER_LN10 * bend;
        double curvature = -2.0 * PER_LN10 * bend * bend;
        root -= 2.0 * residual * slope / (2.0 * slope * slope - residual * curvature);
    }
    return 1.0 / (root * root);
}

/* Loss at a positive flow [Pa]. */
static inline double pipe_loss(double flow, double bore, double length, double roughness,
                               double end_factor, double density, double viscosity)
{
    double reynolds = 4.0 * flow / (PI * bore * (viscosity / density));
    if (reynolds <= 2000.0)
        return 128.0 * viscosity * length / (PI * bore * bore * bore * bore) * flow;
    double factor;
    if (reynolds >= 4000.0)
        factor = colebrook(reynolds, roughness / bore);
    else
        factor = 0.032 + (end_factor - 0.032) * (reynolds - 2000.0) / 2000.0;
    double velocity = flow / (0.25 * PI * bore * bore);
    return factor * length / bore * 0.5 * density * velocity * velocity;
}

#endif
