/* The network solver of feedline/network_*.py written in C: the same Newton, the same start from
   rest, the same tolerances, the same pump.  Circuits of up to 40 nodes and 80 links. */
#include <stdint.h>
#include <string.h>
#include "friction.h"

enum { NODES = 40, LINKS = 80, MOST_STEPS = 200, MOST_HALVINGS = 12, WHOLE_STEPS = 8 };
enum { CORNER_STEPS = 20 };
static const double LEAK = 1e18, CREEPING = 1e-9, LEAST_SLOPE = 1e-2;
static const double PRESSURE_SCALE = 1e4, FLOW_SCALE = 1e-5;

typedef struct {
    int nodes, links, inlet, return_node, recirculation_node;
    const int64_t *first, *second, *one_way, *fluid_row, *first_pipe;
    const double *rows;  /* links x 7: crack, viscous, media, inertial, lift pressure, flow, power */
    const double *pipes; /* n x 4: bore, length, roughness, end factor */
    const double *fluids; /* rows of 5: density, viscosity, wax, vapour pressure, air solubility */
    const double *pump;   /* 12, as PumpPlan */
    double static_pa, ambient, saturation, led_back, gas_pa;
    double speed, injected, backleak;
} Case;

typedef struct {
    double pressure[NODES], mass[NODES], step[NODES], old_pressure[NODES];
    double place[LINKS], loss[LINKS], loss_slope[LINKS], flow[LINKS], flow_slope[LINKS];
    double place_step[LINKS], old_place[LINKS];
    double matrix[NODES][NODES], side[NODES];
    double pump_slope, return_slope, drawn;
} Work;

static void pipe_slope(double flow, const double *p, const double *fluid, double *loss,
                       double *slope)
{
    double size = fabs(flow);
    double reynolds = 4.0 * size / (PI * p[0] * (fluid[1] / fluid[0]));
    if (reynolds <= 2000.0) {
        *slope = 128.0 * fluid[1] * p[1] / (PI * p[0] * p[0] * p[0] * p[0]);
        *loss = *slope * flow;
        return;
    }
    double rough = p[2] / p[0], factor, exponent;
    if (reynolds >= 4000.0) {
        factor = colebrook(reynolds, rough);
        double smooth = 2.51 / reynolds;
        double bend = 2.0 / log(10.0) * smooth / (rough / 3.7 + smooth / sqrt(factor));
        exponent = -2.0 * bend / (1.0 + bend);
    } else {
        double rise = (p[3] - 0.032) / 2000.0;
        factor = 0.032 + rise * (reynolds - 2000.0);
        exponent = reynolds * rise / factor;
    }
    double velocity = size / (0.25 * PI * p[0] * p[0]);
    double at = factor * p[1] / p[0] * 0.5 * fluid[0] * velocity * velocity;
    *loss = copysign(at, flow);
    *slope = (2.0 + exponent) * at / size;
}

static void link_state(const Case *c, Work *w, int link)
{
    const double *row = c->rows + 7 * link;
    const double *fluid = c->fluids + 5 * c->fluid_row[link];
    double place = w->place[link];
    double flow = place, stretch = 1.0, crack = 0.0, crack_slope = 0.0;
    if (c->one_way[link]) {
        crack = row[0];
        flow = crack / LEAK;
        if (place > 0.0) {
            stretch = FLOW_SCALE;
        } else {
            stretch = PRESSURE_SCALE / LEAK;
            crack_slope = PRESSURE_SCALE;
            crack += PRESSURE_SCALE * place;
        }
        flow += stretch * place;
    }
    double slope = fluid[1] * (row[1] + fluid[2] * row[2]);
    double loss = slope * flow;
    double inertial = fluid[0] * row[3];
    if (inertial != 0.0) {
        double square = flow * flow;
        double fourth = square * square + CREEPING * CREEPING * CREEPING * CREEPING;
        double size = sqrt(sqrt(fourth));
        loss += inertial * flow * size;
        slope += inertial * (fourth + square * square) / (size * size * size);
    }
    for (int64_t k = c->first_pipe[link]; k < c->first_pipe[link + 1]; k++) {
        double more, steeper;
        pipe_slope(flow, c->pipes + 4 * k, fluid, &more, &steeper);
        loss += more;
        slope += steeper;
    }
    if (row[4] > 0.0) {
        double share = fabs(flow) / row[5];
        double power = row[6] == 2.0 ? share : pow(share, row[6] - 1.0);
        loss += row[4] * (copysign(share * power, flow) - 1.0);
        slope += row[4] * row[6] * power / row[5];
    }
    w->loss[link] = crack + loss;
    w->loss_slope[link] = crack_slope + (slope > LEAST_SLOPE ? slope : LEAST_SLOPE) * stretch;
    w->flow[link] = flow;
    w->flow_slope[link] = stretch;
}

/* State: drawn, depression, absolute pressure, injected, returned, ratio, margin, gas, filling. */
static void pump_state(const Case *c, double inlet, double *state)
{
    const double *p = c->pump, *fluid = c->fluids;
    double depression = c->static_pa - inlet;
    double pressure = c->ambient - depression;
    double below = c->saturation - pressure;
    double released = c->gas_pa + (below > 0.0 ? p[9] * fluid[4] * below : 0.0);
    double ratio_speed = c->speed / p[8];
    double half = p[5] + fluid[3] + p[7] * ratio_speed * ratio_speed;
    double exponent = -(pressure - half) / p[6];
    double filling = exponent > 700.0 ? 0.0 : 1.0 / (1.0 + exp(exponent));
    double gas = pressure <= 0.0 ? 1.0 : released / (pressure + released);
    double pumped = p[1] * c->speed * p[2] * (1.0 - gas) * filling;
    double slip = p[3] * p[4] / fluid[1];
    double lubrication = p[11];
    double left = pumped - c->backleak - c->injected;
    double ratio;
    if (left <= 0.0) {
        ratio = 0.0;
    } else if (left >= slip + lubrication) {
        ratio = 1.0;
    } else {
        double root = 2.0 * left
                      / (lubrication + sqrt(lubrication * lubrication + 4.0 * slip * left));
        ratio = root * root < 1.0 ? root * root : 1.0;
    }
    double need = c->injected + c->backleak + lubrication;
    double feed = pumped - slip * ratio;
    if (p[0] == 1.0 && ratio >= 1.0)
        feed = need;
    double injected = c->injected;
    if (ratio <= 0.0) {
        double rest = feed - c->backleak > 0.0 ? feed - c->backleak : 0.0;
        injected = injected < rest ? injected : rest;
    }
    state[0] = feed;
    state[1] = depression;
    state[2] = pressure;
    state[3] = injected;
    state[4] = feed - injected;
    state[5] = ratio;
    state[6] = need > 0.0 ? (pumped - slip) / need : INFINITY;
    state[7] = gas;
    state[8] = filling;
}

static double residual_square(const Case *c, Work *w)
{
    double total = 0.0, state[9], beside[9];
    for (int node = 0; node < c->nodes; node++)
        w->mass[node] = 0.0;
    for (int link = 0; link < c->links; link++) {
        link_state(c, w, link);
        int64_t first = c->first[link], second = c->second[link];
        w->mass[first] -= w->flow[link];
        w->mass[second] += w->flow[link];
        double energy = (w->loss[link] - w->pressure[first] + w->pressure[second]) / PRESSURE_SCALE;
        total += energy * energy;
    }
    pump_state(c, w->pressure[c->inlet], state);
    pump_state(c, w->pressure[c->inlet] + 1.0, beside);
    w->pump_slope = beside[0] - state[0];
    w->return_slope = beside[4] - state[4];
    w->drawn = state[0];
    w->mass[c->inlet] -= state[0];
    if (c->return_node >= 0)
        w->mass[c->return_node] += (1.0 - c->led_back) * state[4];
    if (c->recirculation_node >= 0)
        w->mass[c->recirculation_node] += c->led_back * state[4];
    for (int node = 1; node < c->nodes; node++) {
        double mass = w->mass[node] / FLOW_SCALE;
        total += mass * mass;
    }
    return total;
}

static int eliminate(Work *w, int size)
{
    for (int column = 0; column < size; column++) {
        int pivot = column;
        for (int row = column + 1; row < size; row++)
            if (fabs(w->matrix[row][column]) > fabs(w->matrix[pivot][column]))
                pivot = row;
        if (w->matrix[pivot][column] == 0.0)
            return 0;
        if (pivot != column) {
            for (int other = column; other < size; other++) {
                double kept = w->matrix[column][other];
                w->matrix[column][other] = w->matrix[pivot][other];
                w->matrix[pivot][other] = kept;
            }
            double held = w->side[column];
            w->side[column] = w->side[pivot];
            w->side[pivot] = held;
        }
        for (int row = column + 1; row < size; row++)
            if (w->matrix[row][column] != 0.0) {
                double ratio = w->matrix[row][column] / w->matrix[column][column];
                for (int other = column + 1; other < size; other++)
                    w->matrix[row][other] -= ratio * w->matrix[column][other];
                w->side[row] -= ratio * w->side[column];
            }
    }
    for (int row = size - 1; row >= 0; row--) {
        for (int other = row + 1; other < size; other++)
            w->side[row] -= w->matrix[row][other] * w->side[other];
        w->side[row] /= w->matrix[row][row];
    }
    return 1;
}

static int newton_step(const Case *c, Work *w)
{
    int size = c->nodes - 1;
    for (int row = 0; row < size; row++) {
        w->side[row] = w->mass[row + 1];
        memset(w->matrix[row], 0, sizeof(double) * (size_t)size);
    }
    for (int link = 0; link < c->links; link++) {
        int64_t first = c->first[link] - 1, second = c->second[link] - 1;
        double energy = w->loss[link] - w->pressure[first + 1] + w->pressure[second + 1];
        double conductance = w->flow_slope[link] / w->loss_slope[link];
        if (first >= 0) {
            w->matrix[first][first] += conductance;
            w->side[first] += conductance * energy;
        }
        if (second >= 0) {
            w->matrix[second][second] += conductance;
            w->side[second] -= conductance * energy;
        }
        if (first >= 0 && second >= 0) {
            w->matrix[first][second] -= conductance;
            w->matrix[second][first] -= conductance;
        }
    }
    int inlet = c->inlet - 1;
    w->matrix[inlet][inlet] += w->pump_slope;
    if (c->return_node >= 0)
        w->matrix[c->return_node - 1][inlet] -= (1.0 - c->led_back) * w->return_slope;
    if (c->recirculation_node >= 0)
        w->matrix[c->recirculation_node - 1][inlet] -= c->led_back * w->return_slope;
    if (!eliminate(w, size))
        return 0;
    w->step[0] = 0.0;
    for (int row = 0; row < size; row++)
        w->step[row + 1] = w->side[row];
    for (int link = 0; link < c->links; link++) {
        int64_t first = c->first[link], second = c->second[link];
        double energy = w->loss[link] - w->pressure[first] + w->pressure[second];
        w->place_step[link] = (w->step[first] - w->step[second] - energy) / w->loss_slope[link];
    }
    return 1;
}

static int solved(const Case *c, const Work *w)
{
    double highest = 0.0, worst = 0.0, most = fabs(w->drawn);
    for (int link = 0; link < c->links; link++) {
        double across = w->pressure[c->first[link]] - w->pressure[c->second[link]];
        highest = fmax(highest, fabs(w->loss[link]));
        worst = fmax(worst, fabs(w->loss[link] - across));
        most = fmax(most, fabs(w->flow[link]));
    }
    if (!(worst <= 1e-9 + 1e-12 * highest))
        return 0;
    for (int node = 1; node < c->nodes; node++)
        if (!(fabs(w->mass[node]) <= 1e-20 + 1e-12 * most))
            return 0;
    return 1;
}

static int solve(const Case *c, Work *w)
{
    for (int node = 0; node < c->nodes; node++)
        w->pressure[node] = 0.0;
    for (int link = 0; link < c->links; link++)
        w->place[link] = c->one_way[link] ? 0.0 : FLOW_SCALE;
    double square = residual_square(c, w);
    for (int link = 0; link < c->links; link++)
        if (c->one_way[link]) {
            w->loss_slope[link] = PRESSURE_SCALE;
            w->flow_slope[link] = FLOW_SCALE;
        }
    for (int step = 1; step <= MOST_STEPS; step++) {
        if (!newton_step(c, w))
            return -step;
        int corner = -1, done = 0;
        double longest = 1.0;
        memcpy(w->old_pressure, w->pressure, sizeof(double) * (size_t)c->nodes);
        for (int link = 0; link < c->links; link++) {
            double place = w->place[link], after = place + w->place_step[link];
            w->old_place[link] = place;
            if (step > CORNER_STEPS && c->one_way[link] && (place > 0.0) != (after > 0.0)
                && -place / w->place_step[link] < longest) {
                longest = -place / w->place_step[link];
                corner = link;
            }
        }
        double share = longest, trial = square;
        for (int halving = 0; halving < MOST_HALVINGS; halving++) {
            for (int node = 0; node < c->nodes; node++)
                w->pressure[node] = w->old_pressure[node] + share * w->step[node];
            for (int link = 0; link < c->links; link++)
                w->place[link] = w->old_place[link] + share * w->place_step[link];
            if (corner >= 0 && share == longest)
                w->place[corner] = w->old_place[corner] <= 0.0 ? 1e-300 : 0.0;
            trial = residual_square(c, w);
            done = solved(c, w);
            if (step <= WHOLE_STEPS || trial < square || done || share == 0.0)
                break;
            share = halving < MOST_HALVINGS - 2 ? 0.5 * share : longest;
        }
        square = trial;
        if (done)
            return step;
    }
    return -MOST_STEPS;
}

/* shape: nodes, links, inlet, return node, recirculation node; supply: static, ambient,
   saturation, share led back, other gas; states: points x 10, the last column the steps. */
void solve_many(int points, const double *speeds, const double *injected, const double *backleak,
                const int64_t *shape, const int64_t *first, const int64_t *second,
                const int64_t *one_way, const int64_t *fluid_row, const int64_t *first_pipe,
                const double *rows, const double *pipes, const double *fluids, const double *pump,
                const double *supply, double *states)
{
    static Work work;
    Case c = {
        (int)shape[0], (int)shape[1], (int)shape[2], (int)shape[3], (int)shape[4],
        first, second, one_way, fluid_row, first_pipe, rows, pipes, fluids, pump,
        supply[0], supply[1], supply[2], supply[3], supply[4], 0.0, 0.0, 0.0,
    };
    for (int i = 0; i < points; i++) {
        c.speed = speeds[i];
        c.injected = injected[i];
        c.backleak = backleak[i];
        int steps = solve(&c, &work);
        pump_state(&c, work.pressure[c.inlet], states + 10 * i);
        states[10 * i + 9] = steps;
    }
}
