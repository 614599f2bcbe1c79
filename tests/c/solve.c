/* Method documents solved: every row that a solution tells, the same numbers as from Rust to the last bit, and bad documents.
 *
 * Arguments, three for each method: its document, its solution as JSON, and lines `station,quantity,status,value` for every
 * quantity at every station, both as the Rust interface gives them. */
#include "check.h"

#include <math.h>
#include <stdlib.h>

/* The whole file with a closing NUL; the caller frees it. */
static char *read_file(const char *path)
{
    FILE *file = fopen(path, "rb");
    char *text = NULL;
    long size;
    CHECK(file != NULL);
    if (file == NULL) {
        return NULL;
    }
    fseek(file, 0, SEEK_END);
    size = ftell(file);
    rewind(file);
    text = calloc((size_t)size + 1, 1);
    if (text != NULL) {
        CHECK(fread(text, 1, (size_t)size, file) == (size_t)size);
    }
    fclose(file);
    return text;
}

static int says(const char *words)
{
    char message[2048];
    dp_last_error_message(message, sizeof message, NULL);
    if (strstr(message, words) == NULL) {
        fprintf(stderr, "\"%s\" is not in: %s\n", words, message);
        return 0;
    }
    return 1;
}

/* Any result by its name, other settings, what to set for a wanted result. */
static void questions(const dp_solution *solution)
{
    dp_solution *other = NULL;
    double pressure, value, density, answers[4];
    char text[4096];
    size_t count = 0, needed = 0;
    CHECK(dp_solution_delivery_pressure(solution, &pressure) == DP_OK);
    CHECK(dp_solution_output(solution, "method", "delivery_pressure", &value) == DP_OK);
    CHECK(value == pressure);
    CHECK(dp_solution_output(solution, "method", "delivery_presure", &value) == DP_ERROR_UNKNOWN_KEY);
    CHECK(says("did you mean `delivery_pressure`?") || says("delivery_pressure"));
    CHECK(dp_solution_output(solution, NULL, "x", &value) == DP_ERROR_ARGUMENT);

    CHECK(dp_solution_input(solution, "document", "ambient_pressure", &value) == DP_ERROR_MISSING_KEY);
    CHECK(dp_solution_input(solution, "column", "length", &value) == DP_OK);
    CHECK(dp_solution_output(solution, "column", "mean_density", &density) == DP_OK);
    CHECK(dp_solution_with(solution, "column", "length", 1.25 * value, &other) == DP_OK);
    if (other != NULL) {
        double longer, found;
        CHECK(dp_solution_input(other, "column", "length", &longer) == DP_OK);
        CHECK(fabs(longer / (1.25 * value) - 1.0) < 1e-14);
        CHECK(dp_solution_output(other, "column", "hold_up_time", &found) == DP_OK);
        CHECK(dp_solution_find_input(solution, "column", "length", "column", "hold_up_time", found, value, 1.5 * value, 4,
                                     answers, 4, &count) == DP_OK);
        CHECK(count == 1);
        CHECK(fabs(answers[0] / longer - 1.0) < 1e-6);
        dp_solution_free(other);
    }
    CHECK(dp_solution_find_input(solution, "column", "length", "column", "hold_up_time", -1.0, value, 1.5 * value, 2,
                                 NULL, 0, &count) == DP_ERROR_NO_ANSWER);
    CHECK(dp_solution_find_input(solution, "column", "length", "column", "hold_up_time", 1.0, value, value, 2,
                                 NULL, 0, &count) == DP_ERROR_DOMAIN);

    CHECK(dp_check_toml("document = 1\ntitel = 3\n", text, sizeof text, &needed, &count) == DP_OK);
    CHECK(count == 4 && needed == strlen(text) + 1);
    CHECK(strstr(text, "2:1: line 2, unknown key `titel`") != NULL);
    CHECK(dp_check_toml("document = 1\n", NULL, 0, &needed, &count) == DP_OK);
    CHECK(needed > 1 && count == 3);
}

/* A peak of unit area, and refusals. */
static void chromatogram(const dp_solution *solution)
{
    enum { SAMPLES = 8192 };
    static double signal[SAMPLES];
    dp_band_budget bands;
    double sum = 0.0;
    double rate;
    size_t i;
    CHECK(dp_solution_bands(solution, &bands) == DP_OK);
    rate = SAMPLES / (2.0 * bands.time);
    CHECK(dp_solution_chromatogram(solution, 0.0, rate, SAMPLES, signal) == DP_OK);
    for (i = 0; i < SAMPLES; ++i) {
        sum += signal[i] / rate;
    }
    CHECK(fabs(sum - 1.0) < 1e-8);
    CHECK(dp_solution_chromatogram(solution, 0.0, -1.0, SAMPLES, signal) == DP_ERROR_DOMAIN);
    CHECK(dp_solution_chromatogram(solution, 0.0, rate, SAMPLES, NULL) == DP_ERROR_ARGUMENT);
}

static int same(double left, double right)
{
    return memcmp(&left, &right, sizeof left) == 0 || (isnan(left) && isnan(right));
}

static void every_number(const dp_solution *solution, const char *table)
{
    char line[256];
    size_t lines = 0;
    size_t stations = 0;
    size_t quantities = 0;
    FILE *file = fopen(table, "r");
    CHECK(file != NULL);
    while (file != NULL && fgets(line, sizeof line, file) != NULL) {
        char *rest = line;
        const size_t station = (size_t)strtoul(rest, &rest, 10);
        char *name = rest + 1;
        int32_t quantity = 0;
        double out = NAN;
        dp_status status;
        rest = strchr(name, ',');
        if (rest == NULL) {
            break;
        }
        *rest = '\0';
        status = (dp_status)strtol(rest + 1, &rest, 10);
        CHECK(dp_quantity_find(name, &quantity) == DP_OK);
        CHECK(dp_station_get(solution, station, quantity, &out) == status);
        CHECK(same(out, strtod(rest + 1, NULL)));
        lines++;
    }
    CHECK(dp_station_count(solution, &stations) == DP_OK && dp_quantity_count(&quantities) == DP_OK);
    CHECK(stations > 5 && lines == stations * quantities);
    if (file != NULL) {
        fclose(file);
    }
}

static void stations(const dp_solution *solution)
{
    size_t count = 0;
    size_t index;
    size_t found = 0;
    const char *text = NULL;
    double value = 0.0;
    double flow = 0.0;
    int32_t phase = 0;
    dp_state *state = NULL;
    CHECK(dp_station_count(solution, &count) == DP_OK);
    CHECK(dp_solution_mass_flow_rate(solution, &flow) == DP_OK && flow > 0.0);
    for (index = 0; index < count; index++) {
        double pressure = 0.0;
        CHECK(dp_station_branch_of(solution, index, &text) == DP_OK && text[0] == '\0');
        CHECK(dp_station_kind(solution, index, &text) == DP_OK && text[0] != '\0');
        CHECK(dp_station_name(solution, index, &text) == DP_OK && text[0] != '\0');
        CHECK(dp_station_find(solution, text, &found) == DP_OK && found == index);
        CHECK(dp_station_phase(solution, index, &phase) == DP_OK && dp_phase_name(phase, &text) == DP_OK);
        CHECK(dp_station_get(solution, index, DP_QUANTITY_MASS_FLOW_RATE, &value) == DP_OK && value == flow);
        CHECK(dp_station_get(solution, index, DP_QUANTITY_PRESSURE, &pressure) == DP_OK);
        CHECK(dp_station_state(solution, index, &state) == DP_OK);
        CHECK(dp_state_get(state, DP_QUANTITY_PRESSURE, &value) == DP_OK && value == pressure);
        dp_state_free(state);
    }
    CHECK(dp_station_name(solution, count, &text) == DP_ERROR_ARGUMENT && says("index"));
    CHECK(dp_station_get(solution, count, DP_QUANTITY_PRESSURE, &value) == DP_ERROR_ARGUMENT);
    CHECK(dp_station_get(solution, 0, 999, &value) == DP_ERROR_ARGUMENT && says("999"));
    CHECK(dp_station_get(solution, 0, DP_QUANTITY_VELOCITY, &value) == DP_ERROR_MISSING_MODEL);
    CHECK(dp_station_find(solution, "no such part", &found) == DP_ERROR_ARGUMENT && says("no such part"));
    CHECK(dp_station_get(NULL, 0, DP_QUANTITY_PRESSURE, &value) == DP_ERROR_ARGUMENT && says("solution"));
}

static void bands(const dp_solution *solution)
{
    dp_band_budget budget;
    dp_band band;
    const char *solute = NULL;
    size_t count = 0;
    size_t index;
    double variance = 0.0;
    double share = 0.0;
    CHECK(dp_solution_bands(solution, &budget) == DP_OK);
    CHECK(dp_solution_solute(solution, &solute) == DP_OK && solute[0] != '\0');
    CHECK(dp_band_count(solution, &count) == DP_OK && count > 1);
    for (index = 0; index < count; index++) {
        CHECK(dp_band_at(solution, index, &band) == DP_OK && band.part[0] != '\0' && band.time >= 0.0);
        variance += band.time_variance;
        share += band.share;
    }
    CHECK(fabs(share - 1.0) < 1e-12 && fabs(variance / budget.time_variance - 1.0) < 1e-12);
    CHECK(budget.retention_time > budget.hold_up_time && budget.time > budget.retention_time);
    CHECK(budget.column_plate_number > budget.apparent_plate_number && budget.apparent_plate_number > 100.0);
    CHECK(dp_band_at(solution, count, &band) == DP_ERROR_ARGUMENT);
}

/* Where the bands arrive: what the first detection tells is what the solution does. */
static void detections(const dp_solution *solution)
{
    enum { SAMPLES = 64 };
    double signal[SAMPLES];
    double whole[SAMPLES];
    double share = 0.0;
    dp_detection first;
    dp_band_budget budget;
    dp_band_budget bands;
    dp_band row;
    dp_band last;
    size_t count = 0;
    size_t rows = 0;
    size_t index = 1;
    CHECK(dp_detection_count(solution, &count) == DP_OK && count == 1);
    CHECK(dp_detection_at(solution, 0, &first) == DP_OK && first.branch_of[0] == '\0');
    CHECK(first.injected_share == 1.0 && first.volume_flow_rate > 0.0);
    CHECK(dp_detection_find(solution, first.part, &index) == DP_OK && index == 0);
    CHECK(dp_detection_bands(solution, 0, &budget) == DP_OK && dp_solution_bands(solution, &bands) == DP_OK);
    CHECK(memcmp(&budget, &bands, sizeof bands) == 0);
    CHECK(dp_detection_band_count(solution, 0, &rows) == DP_OK && dp_band_count(solution, &count) == DP_OK && rows == count);
    CHECK(dp_detection_band_at(solution, 0, rows - 1, &row) == DP_OK && dp_band_at(solution, rows - 1, &last) == DP_OK);
    CHECK(strcmp(row.part, last.part) == 0 && row.time == last.time && row.time_variance == last.time_variance);
    CHECK(dp_detection_chromatogram(solution, 0, 0.0, 0.2, SAMPLES, signal) == DP_OK);
    CHECK(dp_solution_chromatogram(solution, 0.0, 0.2, SAMPLES, whole) == DP_OK);
    CHECK(memcmp(signal, whole, sizeof whole) == 0);
    CHECK(dp_station_find(solution, first.part, &index) == DP_OK);
    CHECK(dp_station_injected_share(solution, index, &share) == DP_OK && share == 1.0);
    CHECK(dp_station_injected_share(solution, 0, &share) == DP_OK && isnan(share));
    CHECK(dp_detection_find(solution, "no such part", &index) == DP_ERROR_ARGUMENT && says("no such part"));
    CHECK(dp_detection_at(solution, 1, &first) == DP_ERROR_ARGUMENT && says("index"));
    CHECK(dp_detection_band_at(solution, 0, rows, &row) == DP_ERROR_ARGUMENT && says("row"));
    CHECK(dp_detection_chromatogram(solution, 1, 0.0, 0.2, SAMPLES, signal) == DP_ERROR_ARGUMENT);
}

static void columns(const dp_solution *solution)
{
    dp_column column;
    dp_profile_point first;
    dp_profile_point last;
    size_t count = 0;
    CHECK(dp_column_count(solution, &count) == DP_OK && count == 1);
    CHECK(dp_column_at(solution, 0, &column) == DP_OK && column.name[0] != '\0' && column.points > 2);
    CHECK(dp_column_point(solution, 0, 0, &first) == DP_OK);
    CHECK(dp_column_point(solution, 0, column.points - 1, &last) == DP_OK);
    CHECK(first.position == 0.0 && last.position > 0.0 && first.pressure > last.pressure);
    CHECK(fabs((first.pressure - last.pressure) / column.pressure_drop - 1.0) < 1e-6);
    CHECK(dp_column_point(solution, 0, column.points, &last) == DP_ERROR_ARGUMENT && says("point"));
    CHECK(dp_column_point(solution, 1, 0, &last) == DP_ERROR_ARGUMENT && says("column"));
    CHECK(dp_column_at(solution, 1, &column) == DP_ERROR_ARGUMENT);
}

/* Runs of eight hours that need no equilibration: three a day, with the mass of the flow and the heat of the duties. */
static void cycles(const dp_solution *solution)
{
    const double run = 8.0 * 3600.0;
    dp_cycle *cycle = NULL;
    dp_cycle_times times;
    dp_use used;
    dp_duty duty;
    dp_consumption consumption;
    double mass = 0.0;
    double heat = 0.0;
    double gas = 0.0;
    size_t count = 0;
    size_t duties = 0;
    size_t index;
    CHECK(dp_solution_consumption(solution, &consumption) == DP_OK);
    CHECK(dp_solution_cycle(solution, run, 0.0, 0.0, &cycle) == DP_OK);
    CHECK(dp_cycle_times_of(cycle, &times) == DP_OK && times.cycle_time == run && times.runs_per_day == 3.0);
    CHECK(times.equilibration_time == 0.0 && times.dwell_time > 0.0 && times.column_time > 0.0);
    CHECK(dp_cycle_use_count(cycle, &count) == DP_OK && count > 2);
    for (index = 0; index < count; index++) {
        CHECK(dp_cycle_use_at(cycle, index, &used) == DP_OK && used.name[0] != '\0');
        CHECK(fabs(used.per_day - 3.0 * used.per_run) <= 1e-12 * fabs(used.per_day));
        mass += used.quantity == DP_QUANTITY_MASS ? used.per_run : 0.0;
        heat += used.quantity == DP_QUANTITY_ENERGY ? used.per_run : 0.0;
        gas += used.quantity == DP_QUANTITY_VOLUME ? used.per_run : 0.0;
    }
    CHECK(fabs(mass / (consumption.mass_flow_rate * run) - 1.0) < 1e-12);
    CHECK(fabs(gas / (consumption.gas_volume_flow_rate * run) - 1.0) < 1e-12);
    CHECK(dp_duty_count(solution, &duties) == DP_OK && duties > 0);
    for (index = 0; index < duties; index++) {
        CHECK(dp_duty_at(solution, index, &duty) == DP_OK);
        heat -= duty.heat_flow_rate * run;
    }
    CHECK(fabs(heat) < 1e-9 * run);
    CHECK(dp_cycle_use_at(cycle, count, &used) == DP_ERROR_ARGUMENT);
    dp_cycle_free(cycle);
    CHECK(dp_solution_cycle(solution, 240.0, 20.0, 10.0, &cycle) == DP_OK);
    CHECK(dp_cycle_times_of(cycle, &times) == DP_OK);
    CHECK(fabs(times.equilibration_time / (times.dwell_time + 10.0 * times.column_time) - 1.0) < 1e-12);
    CHECK(fabs(times.cycle_time / (260.0 + times.equilibration_time) - 1.0) < 1e-12);
    dp_cycle_free(cycle);
    cycle = NULL;
    CHECK(dp_solution_cycle(solution, 0.0, 0.0, 0.0, &cycle) == DP_ERROR_DOMAIN && cycle == NULL);
    CHECK(dp_solution_cycle(NULL, 1.0, 0.0, 0.0, &cycle) == DP_ERROR_ARGUMENT);
    dp_cycle_free(NULL);
}

static void the_rest(const dp_solution *solution)
{
    dp_duty duty;
    dp_fact fact;
    dp_notice notice;
    dp_consumption consumption;
    const char *text = NULL;
    size_t count = 0;
    size_t index;
    int32_t severity = DP_SEVERITY_CAUTION;
    double value = 0.0;
    CHECK(dp_duty_count(solution, &count) == DP_OK && count > 0);
    for (index = 0; index < count; index++) {
        CHECK(dp_duty_at(solution, index, &duty) == DP_OK && isfinite(duty.heat_flow_rate) && duty.purpose[0] != '\0');
    }
    CHECK(dp_duty_at(solution, count, &duty) == DP_ERROR_ARGUMENT);
    CHECK(dp_fact_count(solution, &count) == DP_OK && count > 0);
    for (index = 0; index < count; index++) {
        CHECK(dp_fact_at(solution, index, &fact) == DP_OK && dp_quantity_unit(fact.quantity, &text) == DP_OK);
        CHECK(dp_fact_find(solution, fact.part, fact.name, &value) == DP_OK && same(value, fact.value));
    }
    CHECK(dp_fact_at(solution, count, &fact) == DP_ERROR_ARGUMENT);
    CHECK(dp_fact_find(solution, "no such part", "x", &value) == DP_ERROR_ARGUMENT);
    /* Carbon dioxide absorbs below 188 nm, by its cross sections (Heays et al. 2017, see the data file). */
    if (dp_station_find(solution, "UV cell", &index) == DP_OK) {
        CHECK(dp_fact_find(solution, "UV cell", "ultraviolet cut-off", &value) == DP_OK && fabs(value - 188e-9) < 1e-15);
    }
    CHECK(dp_notice_count(solution, &count) == DP_OK && count > 0);
    for (index = 0; index < count; index++) {
        CHECK(dp_notice_at(solution, index, &notice) == DP_OK && strlen(notice.text) > 10);
        CHECK(dp_notice_name(notice.code, &text) == DP_OK && dp_severity_name(notice.severity, &text) == DP_OK);
        CHECK(notice.severity >= severity);
        severity = notice.severity;
    }
    CHECK(dp_notice_at(solution, count, &notice) == DP_ERROR_ARGUMENT);
    CHECK(dp_solution_consumption(solution, &consumption) == DP_OK && consumption.running_time > 0.0);
    CHECK(dp_solution_mass_flow_rate(solution, &value) == DP_OK && value == consumption.mass_flow_rate);
    CHECK(dp_solution_report(solution, &text) == DP_OK && strstr(text, "bar(a)") != NULL);
    CHECK(dp_solution_title(solution, &text) == DP_OK && text[0] != '\0');
}

static void method(const char *path, const char *json, const char *table)
{
    dp_solution *solution = NULL;
    dp_solution *again = NULL;
    char *document = read_file(path);
    char *expected = read_file(json);
    const char *text = NULL;
    double pressure = 0.0;
    double delivered = 0.0;
    size_t station = 0;
    CHECK(dp_solve_file(path, &solution) == DP_OK);
    CHECK(dp_solve_toml(document, &again) == DP_OK);
    if (solution == NULL || again == NULL) {
        says("the reason");
        return;
    }
    CHECK(dp_solution_json(solution, &text) == DP_OK && strcmp(text, expected) == 0);
    CHECK(dp_solution_json(again, &text) == DP_OK && strcmp(text, expected) == 0);
    dp_solution_free(again);
    CHECK(dp_solve_toml_within(document, 60.0, &again) == DP_OK);
    CHECK(dp_solution_json(again, &text) == DP_OK && strcmp(text, expected) == 0);
    dp_solution_free(again);
    CHECK(dp_solution_delivery_pressure(solution, &delivered) == DP_OK);
    CHECK(dp_station_find(solution, "pump", &station) == DP_OK);
    CHECK(dp_station_get(solution, station, DP_QUANTITY_PRESSURE, &pressure) == DP_OK && pressure == delivered);
    chromatogram(solution);
    questions(solution);
    every_number(solution, table);
    stations(solution);
    bands(solution);
    detections(solution);
    columns(solution);
    the_rest(solution);
    cycles(solution);
    dp_solution_free(solution);
    free(document);
    free(expected);
}

/* The document with one text put in the place of another, refused with `code`, alone or inside a part, and a message with
 * `words`. */
static void spoiled(const char *document, const char *old, const char *new, dp_status code, const char *words)
{
    const char *place = strstr(document, old);
    char *text = malloc(strlen(document) + strlen(new) + 1);
    dp_solution *solution = NULL;
    dp_error_info info;
    CHECK(place != NULL && text != NULL);
    if (place != NULL && text != NULL) {
        const size_t before = (size_t)(place - document);
        memcpy(text, document, before);
        strcpy(text + before, new);
        strcat(text, place + strlen(old));
        CHECK(dp_solve_toml(text, &solution) != DP_OK && solution == NULL);
        CHECK(dp_last_error(&info) == DP_OK && info.cause == code);
        CHECK(info.code == code || (info.code == DP_ERROR_IN_ELEMENT && info.element >= 0));
        CHECK(says(words));
    }
    free(text);
}

static void full_by_leave(const char *document)
{
    static const char old[] = "mass = \"28 kg\"\ntemperature = \"20 degC\"";
    const char *place = strstr(document, old);
    char *text = malloc(strlen(document) + 100);
    dp_solution *solution = NULL;
    dp_notice notice;
    size_t count = 0;
    int told = 0;
    CHECK(place != NULL && text != NULL);
    if (place == NULL || text == NULL) {
        free(text);
        return;
    }
    sprintf(text, "%.*smass = \"30 kg\"\ntemperature = \"25 degC\"\nallow_liquid_full = true%s", (int)(place - document), document,
            place + strlen(old));
    CHECK(dp_solve_toml(text, &solution) == DP_OK);
    CHECK(dp_notice_count(solution, &count) == DP_OK);
    for (size_t index = 0; index < count; index++) {
        CHECK(dp_notice_at(solution, index, &notice) == DP_OK);
        told |= notice.code == DP_NOTICE_BLOCKED_IN_LIQUID && notice.severity == DP_SEVERITY_CAUTION &&
                strcmp(notice.station, "supply cylinder") == 0;
    }
    CHECK(told);
    dp_solution_free(solution);
    free(text);
}

static void bad_documents(const char *path)
{
    char *document = read_file(path);
    dp_solution *solution = NULL;
    CHECK(dp_solve_toml_within(document, -1.0, &solution) == DP_ERROR_DOMAIN && says("time"));
    CHECK(dp_solve_toml_within(document, 0.0, &solution) == DP_ERROR_STOPPED && solution == NULL && says("time"));
    CHECK(dp_solve_toml(NULL, &solution) == DP_ERROR_ARGUMENT && says("text"));
    CHECK(dp_solve_toml("", NULL) == DP_ERROR_ARGUMENT && says("out"));
    CHECK(dp_solve_toml("this is no document", &solution) == DP_ERROR_SYNTAX && says("line 1"));
    CHECK(dp_solve_json("{\"document\": 1, \"titel\": \"x\"}", &solution) == DP_ERROR_UNKNOWN_KEY);
    CHECK(says("did you mean `title`?"));
    CHECK(dp_solve_json("{", &solution) == DP_ERROR_SYNTAX);
    CHECK(dp_solve_file("no/such/file.toml", &solution) == DP_ERROR_FILE && says("no/such/file.toml"));
    CHECK(solution == NULL);
    dp_solution_free(NULL);
    spoiled(document, "fluid = \"carbon dioxide\"", "fluid = \"carbon dioxid\"", DP_ERROR_UNKNOWN_FLUID,
            "did you mean \"carbon dioxide\"?");
    spoiled(document, "head_temperature", "head_temperatur", DP_ERROR_UNKNOWN_KEY, "did you mean");
    spoiled(document, "\"5 degC\"", "\"5\"", DP_ERROR_BAD_VALUE, "head_temperature");
    spoiled(document, "counted_at = \"delivery\"", "", DP_ERROR_COUNTING_MISSING, "suction");
    spoiled(document, "pressure = \"150 bar\"", "", DP_ERROR_MISSING_KEY, "pressure");
    spoiled(document, "head_temperature = \"5 degC\"", "head_temperature = \"30 degC\"", DP_ERROR_FEED_NOT_LIQUID,
            "in \"pump\"");
    spoiled(document, "\"4.6 mm\"", "\"-4.6 mm\"", DP_ERROR_DOMAIN, "in \"column\"");
    spoiled(document, "wall_temperature = \"40 degC\"", "wall_temperature = \"40 K\"", DP_ERROR_OUT_OF_RANGE,
            "did you mean 40 degC = 313.15 K?");
    /* Liquid of 710.502 kg/m3 at 25 degC fills 40 L with 28.42008 kg (CoolProp 8.0.0). With leave it feeds, and the caution stays. */
    spoiled(document, "mass = \"28 kg\"\ntemperature = \"20 degC\"", "mass = \"30 kg\"\ntemperature = \"25 degC\"",
            DP_ERROR_LIQUID_FULL, "28.4201 kg");
    full_by_leave(document);
    free(document);
}

int main(int count, char **arguments)
{
    int at;
    CHECK(count > 1 && count % 3 == 1);
    for (at = 1; at + 2 < count; at += 3) {
        method(arguments[at], arguments[at + 1], arguments[at + 2]);
    }
    if (count > 1) {
        bad_documents(arguments[1]);
    }
    return report("solve");
}
