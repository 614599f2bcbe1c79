/* Properties without the standard library of Rust: linked against that of C alone, and not against its mathematics.

   Check values: Span and Wagner, J. Phys. Chem. Ref. Data 25, 1509 (1996), doi 10.1063/1.555991, table 35, to the printed digit,
   copied from public check values. */

#include <stdio.h>

double bare_property(const char *name, const char *quantity, double temperature, double pressure);

int main(void) {
    const struct {
        const char *quantity;
        double temperature, pressure, printed, half_digit;
    } checks[] = {
        {"density", 240.0, 50000.0, 1.1084, 5e-05},
        {"density", 290.0, 5000000.0, 148.41, 0.005},
        {"density", 1100.0, 100000000.0, 371.36, 0.005},
        {"speed_of_sound", 240.0, 50000.0, 243.88, 0.005},
        {"speed_of_sound", 290.0, 5000000.0, 207.56, 0.005},
        {"speed_of_sound", 1100.0, 100000000.0, 675.48, 0.005},
        {"specific_enthalpy", 240.0, 50000.0, -48014.0, 0.5},
        {"specific_enthalpy", 290.0, 5000000.0, -81892.0, 0.5},
        {"specific_enthalpy", 1100.0, 100000000.0, 887140.0, 5.0},
        {"specific_isobaric_heat_capacity", 240.0, 50000.0, 788.15, 0.005},
        {"specific_isobaric_heat_capacity", 290.0, 5000000.0, 2578.3, 0.05},
        {"specific_isobaric_heat_capacity", 1100.0, 100000000.0, 1354.4, 0.05},
    };
    int failed = 0;
    for (size_t i = 0; i < sizeof checks / sizeof *checks; i++) {
        double value = bare_property("carbon dioxide", checks[i].quantity, checks[i].temperature, checks[i].pressure);
        int agrees = value >= checks[i].printed - checks[i].half_digit && value <= checks[i].printed + checks[i].half_digit;
        printf("%s at %g K and %g Pa: %.12g, printed %.12g\n", checks[i].quantity, checks[i].temperature, checks[i].pressure, value,
               checks[i].printed);
        failed += !agrees;
    }
    double refused = bare_property("carbon dioxide", "density", -1.0, 1e7);
    return failed || !(refused != refused);
}
