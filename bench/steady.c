/* The steady kernels of towscope.towing.steady, written again in C for one flow at all depths, to
   see what the compiler in Python costs. Built by bench/steady.py with cc -O3. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { LENGTH, DIAMETER, WATER_WEIGHT, AIR_WEIGHT, NORMAL, FRICTION, NORMAL_SCALE, FRICTION_SCALE, PIECE };
enum { DEPTH, DEEPEST, LAYBACK, SIDE, TENSION, WET, LET_OUT, ANSWER };
#define MAX_STEPS 2000
#define NEAR 2e-5

typedef struct { double start, step; int piece; double state[6], q[6][4]; } Row;
typedef struct {
    const double *pieces; int n; double lure[3], rho, nu, rho_air, nu_air, ahead, port, air, tip;
} Tow;

static const double A[7][6] = {
    {0}, {1.0/5}, {3.0/40, 9.0/40}, {44.0/45, -56.0/15, 32.0/9},
    {19372.0/6561, -25360.0/2187, 64448.0/6561, -212.0/729},
    {9017.0/3168, -355.0/33, 46732.0/5247, 49.0/176, -5103.0/18656},
    {35.0/384, 0, 500.0/1113, 125.0/192, -2187.0/6784, 11.0/84}};
static const double E[7] = {-71.0/57600, 0, 71.0/16695, -71.0/1920, 17253.0/339200, -22.0/525, 1.0/40};
static const double P[7][4] = {
    {1, -8048581381.0/2820520608, 8663915743.0/2820520608, -12715105075.0/11282082432}, {0},
    {0, 131558114200.0/32700410799, -68118460800.0/10900136933, 87487479700.0/32700410799},
    {0, -1754552775.0/470086768, 14199869525.0/1410260304, -10690763975.0/1880347072},
    {0, 127303824393.0/49829197408, -318862633887.0/49829197408, 701980252875.0/199316789632},
    {0, -282668133.0/205662961, 2019193451.0/616988883, -1453857185.0/822651844},
    {0, 40617522.0/29380423, -110615467.0/29380423, 69997945.0/29380423}};

static void line_force(const double u[3], const double t[3], const double *p, double rho, double nu, double out[3]) {
    double along = u[0]*t[0] + u[1]*t[1] + u[2]*t[2];
    double n[3] = {u[0] - along*t[0], u[1] - along*t[1], u[2] - along*t[2]};
    double across = sqrt(n[0]*n[0] + n[1]*n[1] + n[2]*n[2]);
    double half = 0.5*rho*p[DIAMETER], cn = p[NORMAL], ft;
    if (cn < 0) {
        double re = fmax(across*p[DIAMETER]/nu, 1e-4);
        cn = 1.18 + 6.8*exp(-0.89*log(re)) + 1.96/sqrt(re) - 0.0004*re/(1 + 3.64e-7*re*re);
    }
    double fn = half*p[NORMAL_SCALE]*cn*across;
    if (p[FRICTION] >= 0) ft = half*p[FRICTION_SCALE]*M_PI*p[FRICTION]*fabs(along);
    else {
        double thin = 5.4*5.4*nu/p[DIAMETER]*across, thick = M_PI*0.0075*along;
        ft = half*p[FRICTION_SCALE]*sqrt(thin + thick*thick);
    }
    ft *= along;
    for (int c = 0; c < 3; c++) out[c] = fn*n[c] + ft*t[c];
}

static void slope(const Tow *w, const double *y, int i, double *out) {
    const double *p = w->pieces + PIECE*i;
    double inv = 1/sqrt(y[3]*y[3] + y[4]*y[4] + y[5]*y[5]);
    double t[3] = {y[3]*inv, y[4]*inv, y[5]*inv}, u[3] = {-w->ahead, w->port, 0}, d[3];
    line_force(u, t, p, w->rho, w->nu, d);
    out[0] = t[0]; out[1] = t[1]; out[2] = t[2];
    out[3] = -d[0]; out[4] = -d[1]; out[5] = p[WATER_WEIGHT] - d[2];
}

static int climb(const Tow *w, double relative, Row *path) {
    double y[6] = {0}, z[6], k[7][6], s = 0, h;
    double speed = sqrt(w->ahead*w->ahead + w->port*w->port), q = 0.5*w->rho*speed;
    y[3] = q*w->lure[0]*w->ahead; y[4] = -q*w->lure[0]*w->port; y[5] = q*speed*w->lure[1] + w->lure[2];
    int n = 0;
    for (int i = 0; i < w->n; i++) {
        double left = w->pieces[PIECE*i + LENGTH], end = s + left;
        slope(w, y, i, k[0]);
        double pull = sqrt(y[3]*y[3] + y[4]*y[4] + y[5]*y[5]);
        double change = sqrt(k[0][3]*k[0][3] + k[0][4]*k[0][4] + k[0][5]*k[0][5]);
        h = fmin(left, 0.2*pull/(change + 1e-12) + 1e-6);
        while (left > 1e-12) {
            int last = h >= left*(1 - 1e-12);
            if (last) h = left;
            for (int g = 1; g < 7; g++) {
                for (int c = 0; c < 6; c++) {
                    double total = 0;
                    for (int j = 0; j < g; j++) total += A[g][j]*k[j][c];
                    z[c] = y[c] + h*total;
                }
                slope(w, z, i, k[g]);
            }
            pull = sqrt(z[3]*z[3] + z[4]*z[4] + z[5]*z[5]);
            double worst = 0;
            for (int c = 0; c < 6; c++) {
                double e = 0;
                for (int j = 0; j < 7; j++) e += E[j]*k[j][c];
                worst = fmax(worst, fabs(e*h)/(c >= 3 ? pull : 1 + s));
            }
            if (worst > relative) { h *= fmax(0.2, 0.9*pow(relative/worst, 0.2)); continue; }
            if (n == MAX_STEPS) return 0;
            Row *r = path + n++;
            r->start = s; r->step = h; r->piece = i;
            for (int c = 0; c < 6; c++) {
                r->state[c] = y[c];
                for (int p = 0; p < 4; p++) {
                    double total = 0;
                    for (int j = 0; j < 7; j++) total += k[j][c]*P[j][p];
                    r->q[c][p] = total*h;
                }
                y[c] = z[c]; k[0][c] = k[6][c];
            }
            s = last ? end : s + h;
            left = end - s;
            h *= fmin(5.0, 0.9*pow(relative/(worst + 1e-30), 0.2));
        }
    }
    return n;
}

static void at(const Row *r, double s, double *y) {
    double q = (s - r->start)/r->step;
    for (int c = 0; c < 6; c++)
        y[c] = r->state[c] + q*(r->q[c][0] + q*(r->q[c][1] + q*(r->q[c][2] + q*r->q[c][3])));
}

static double air_leg(const Tow *w, double f[3], int i, double left, double *x, double *y, double *pull_out) {
    double z = 0, length = 0, pull;
    *x = *y = 0;
    if (w->tip <= 0) { *pull_out = sqrt(f[0]*f[0] + f[1]*f[1] + f[2]*f[2]); return 0; }
    if (f[2] <= 0) return -1;
    for (; i < w->n; i++) {
        const double *p = w->pieces + PIECE*i;
        double wt = p[AIR_WEIGHT], rise = w->tip - z;
        pull = sqrt(f[0]*f[0] + f[1]*f[1] + f[2]*f[2]);
        double top = pull + wt*rise, vert = sqrt(fmax(top*top - f[0]*f[0] - f[1]*f[1], 0));
        double need = (2*pull + wt*rise)*rise/(vert + f[2]);
        int last = i == w->n - 1 || need <= left;
        double span = last ? need : left;
        int steps = 1 + (int)fmin(63, 6*wt*span/pull);
        double h = span/steps;
        for (int g = 0; g < steps; g++) {
            double mz = f[2] + 0.5*h*wt, inv = 1/sqrt(f[0]*f[0] + f[1]*f[1] + mz*mz), d[3];
            double u[3] = {-w->air, 0, 0}, t[3] = {f[0]*inv, f[1]*inv, mz*inv};
            line_force(u, t, p, w->rho_air, w->nu_air, d);
            double e[3] = {-h*d[0], -h*d[1], h*(wt - d[2])}, m[3], b[3];
            for (int c = 0; c < 3; c++) { m[c] = f[c] + 0.5*e[c]; b[c] = f[c] + e[c]; }
            double a0 = 1/sqrt(f[0]*f[0] + f[1]*f[1] + f[2]*f[2]);
            double a1 = 4/sqrt(m[0]*m[0] + m[1]*m[1] + m[2]*m[2]);
            double a2 = 1/sqrt(b[0]*b[0] + b[1]*b[1] + b[2]*b[2]);
            *x += h/6*(a0*f[0] + a1*m[0] + a2*b[0]);
            *y += h/6*(a0*f[1] + a1*m[1] + a2*b[1]);
            z += h/6*(a0*f[2] + a1*m[2] + a2*b[2]);
            memcpy(f, b, sizeof b);
        }
        length += span;
        if (last) break;
        left = w->pieces[PIECE*(i + 1) + LENGTH];
    }
    pull = sqrt(f[0]*f[0] + f[1]*f[1] + f[2]*f[2]);
    double rest = (w->tip - z)/f[2];
    *x += rest*f[0]; *y += rest*f[1]; *pull_out = pull;
    return length + rest*pull;
}

static int surface(const Tow *w, const Row *path, int n, int row, double s, const double *ends, double *y, double *out) {
    while (row > 0 && path[row].start > s) row--;
    while (row < n - 1 && path[row + 1].start <= s) row++;
    at(path + row, s, y);
    int i = path[row].piece;
    while (i < w->n - 1 && s >= ends[i]) i++;
    double f[3] = {y[3], y[4], y[5]}, dx, dy, pull;
    double length = air_leg(w, f, i, ends[i] - s, &dx, &dy, &pull);
    if (length < 0) return -1;
    out[DEPTH] = out[DEEPEST] = y[2]; out[LAYBACK] = y[0] + dx; out[SIDE] = -y[1] - dy;
    out[TENSION] = pull; out[WET] = s; out[LET_OUT] = s + length;
    return row;
}

static void afloat(double let_out, double tip, double *out) {
    memset(out, 0, ANSWER*sizeof *out);
    out[LAYBACK] = sqrt(fmax(let_out*let_out - tip*tip, 0));
    out[WET] = fmax(let_out - tip, 0); out[TENSION] = NAN; out[LET_OUT] = let_out;
}

int sweep(const double *pieces, int n_pieces, const double *lure, const double *medium, double ahead,
          double port, double air, double tip, const double *let_outs, int count, double relative, double *answers) {
    static Row path[MAX_STEPS];
    Tow w = {pieces, n_pieces, {lure[0], lure[1], lure[2]}, medium[0], medium[1], medium[2], medium[3],
             ahead, port, air, tip};
    double ends[64], total = 0, y[6], out[ANSWER];
    for (int i = 0; i < n_pieces; i++) ends[i] = total += pieces[PIECE*i + LENGTH];
    int n = climb(&w, relative, path), row = 0, seen = 0;
    if (!n) return 0;
    double floor_ = 0, lowest = 0, shortest = INFINITY, air_len = tip, last_goal = 0, air_rate = 0;
    if (!(path[0].state[5] > 0)) {
        floor_ = total;
        for (int r = 0; r < n; r++) {
            at(path + r, path[r].start + path[r].step, y);
            if (y[2] > 0) {
                double low = path[r].start, high = low + path[r].step;
                for (int g = 0; g < 60; g++) {
                    double s = 0.5*(low + high);
                    at(path + r, s, y);
                    if (y[2] > 0) high = s; else low = s;
                }
                floor_ = high;
                break;
            }
        }
    }
    if (surface(&w, path, n, row, floor_, ends, y, out) >= 0) shortest = out[LET_OUT];
    for (int t = 0; t < count; t++) {
        double goal = let_outs[t], *answer = answers + ANSWER*t;
        if (goal > total*(1 + 1e-12)) {
            for (int c = 0; c < ANSWER; c++) answer[c] = NAN;
            answer[LET_OUT] = goal;
            continue;
        }
        if (goal <= shortest) { afloat(goal, tip, answer); continue; }
        double low = floor_, high = goal;
        double s = fmin(fmax(goal - air_len - air_rate*(goal - last_goal), low), high);
        double rate = air_rate < 0.5 ? 1/(1 - air_rate) : 1, before_s = -1, before_gap = 0, gap = INFINITY;
        for (int g = 0; g < 60; g++) {
            int hit = surface(&w, path, n, row, s, ends, y, out);
            if (hit < 0) {
                low = s;
                if (high - low < 1e-9*(1 + goal)) break;
                s = 0.5*(low + high); before_s = -1;
                continue;
            }
            row = hit;
            gap = out[LET_OUT] - goal;
            if (before_s >= 0 && s != before_s) { rate = (gap - before_gap)/(s - before_s); if (rate < 0.1) rate = 1; }
            if (fabs(gap) <= NEAR) break;
            if (gap > 0) high = s; else low = s;
            before_s = s; before_gap = gap;
            double guess = s - gap/rate;
            if (!(low <= guess && guess <= high)) guess = 0.5*(low + high);
            if (guess == s) break;
            s = guess;
        }
        if (fabs(gap) > NEAR || out[DEPTH] <= 0) { afloat(goal, tip, answer); continue; }
        double back = gap/rate, pull = sqrt(y[3]*y[3] + y[4]*y[4] + y[5]*y[5]);
        out[WET] -= back; out[DEPTH] -= back*y[5]/pull;
        out[LAYBACK] -= gap*y[3]/pull; out[SIDE] += gap*y[4]/pull;
        double now = goal - out[WET];
        if (t > 0 && goal > last_goal && last_goal > 0) air_rate = (now - air_len)/(goal - last_goal);
        air_len = now; last_goal = goal;
        while (seen < n && path[seen].start <= out[WET]) { lowest = fmin(lowest, path[seen].state[2]); seen++; }
        memcpy(answer, out, sizeof out);
        answer[DEEPEST] = answer[DEPTH] - lowest; answer[LET_OUT] = goal;
    }
    return 1;
}
