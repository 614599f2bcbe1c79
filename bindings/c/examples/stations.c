/* Solves a method document and prints its stations, its band budget and its notices.
 *
 * Build: cc -std=c99 stations.c $(pkg-config --cflags --libs densepath) -o stations
 * Run:   ./stations method.toml */
#include <densepath.h>

#include <stdio.h>

static int fail(const char *what)
{
    char message[1024] = "";
    dp_last_error_message(message, sizeof message, NULL);
    fprintf(stderr, "%s: %s\n", what, message);
    return 1;
}

/* Prints a quantity of a station in a unit of the laboratory, or a dash where it is not defined. */
static void cell(const dp_solution *solution, size_t station, int32_t quantity, double unit, double zero, int decimals)
{
    double value = 0.0;
    if (dp_station_get(solution, station, quantity, &value) == DP_OK) {
        printf(" %11.*f", decimals, value / unit - zero);
    } else {
        printf(" %11s", "-");
    }
}

static void print_station(const dp_solution *solution, size_t station)
{
    const char *name = "";
    const char *phase_name = "";
    int32_t phase = 0;
    dp_station_name(solution, station, &name);
    if (dp_station_phase(solution, station, &phase) == DP_OK) {
        dp_phase_name(phase, &phase_name);
    }
    printf("%-16s", name);
    cell(solution, station, DP_QUANTITY_TEMPERATURE, 1.0, 273.15, 2);
    cell(solution, station, DP_QUANTITY_PRESSURE, 1e5, 0.0, 3);
    cell(solution, station, DP_QUANTITY_DENSITY, 1.0, 0.0, 3);
    cell(solution, station, DP_QUANTITY_DYNAMIC_VISCOSITY, 1e-6, 0.0, 3);
    cell(solution, station, DP_QUANTITY_VELOCITY, 1e-3, 0.0, 3);
    cell(solution, station, DP_QUANTITY_REYNOLDS_NUMBER, 1.0, 0.0, 1);
    printf("  %s\n", phase_name);
}

static void print_bands(const dp_solution *solution)
{
    dp_band_budget budget;
    const char *solute = "";
    size_t count = 0;
    size_t index;
    if (dp_solution_bands(solution, &budget) != DP_OK) {
        return;
    }
    dp_solution_solute(solution, &solute);
    dp_band_count(solution, &count);
    printf("\nBand of %s: k = %.3f, t_R = %.2f s, N = %.0f on the column, %.0f apparent\n", solute,
           budget.retention_factor, budget.retention_time, budget.column_plate_number, budget.apparent_plate_number);
    for (index = 0; index < count; index++) {
        dp_band band;
        if (dp_band_at(solution, index, &band) == DP_OK) {
            printf("  %-16s %6.2f %% of the variance\n", band.part, 100.0 * band.share);
        }
    }
}

static void print_notices(const dp_solution *solution)
{
    size_t count = 0;
    size_t index;
    dp_notice_count(solution, &count);
    printf("\n");
    for (index = 0; index < count; index++) {
        dp_notice notice;
        const char *severity = "";
        if (dp_notice_at(solution, index, &notice) == DP_OK && dp_severity_name(notice.severity, &severity) == DP_OK) {
            printf("%s%s%s: %s\n", severity, notice.station[0] == '\0' ? "" : ", ", notice.station, notice.text);
        }
    }
}

int main(int count, char **arguments)
{
    dp_solution *solution = NULL;
    const char *title = "";
    double pressure = 0.0;
    double mass_flow = 0.0;
    size_t stations = 0;
    size_t index;

    if (count != 2) {
        fprintf(stderr, "usage: %s method.toml\n", arguments[0]);
        return 2;
    }
    if (dp_solve_file(arguments[1], &solution) != DP_OK) {
        return fail(arguments[1]);
    }
    dp_solution_title(solution, &title);
    dp_solution_delivery_pressure(solution, &pressure);
    dp_solution_mass_flow_rate(solution, &mass_flow);
    printf("%s\npump %.2f bar (absolute), %.4f g/min\n\n", title, pressure / 1e5, mass_flow * 60e3);
    printf("%-16s %11s %11s %11s %11s %11s %11s  %s\n", "station", "T", "p", "density", "viscosity", "velocity", "Re",
           "phase");
    printf("%-16s %11s %11s %11s %11s %11s %11s\n", "", "degC", "bar(a)", "kg/m3", "uPa s", "mm/s", "1");
    dp_station_count(solution, &stations);
    for (index = 0; index < stations; index++) {
        print_station(solution, index);
    }
    print_bands(solution);
    print_notices(solution);
    dp_solution_free(solution);
    return 0;
}
