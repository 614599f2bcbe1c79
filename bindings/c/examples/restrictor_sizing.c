/* Lengths of open capillaries that let a mass flow of carbon dioxide at 120 degC and 150 bar out to the room: a table of bores and flows.
 *
 * A restrictor sprays cold gas and dry ice and may plug; it is at full pressure until its end. Follow local codes.
 *
 * Build: cc -std=c99 restrictor_sizing.c $(pkg-config --cflags --libs densepath) -o restrictor_sizing */
#include <densepath.h>

#include <stdio.h>

static const double BORES_UM[] = {5.0, 7.0, 10.0, 12.0, 15.0};
static const double FLOWS_MG_PER_MIN[] = {2.0, 5.0, 10.0, 20.0};

int main(void)
{
    dp_fluid *fluid = NULL;
    size_t bore;
    size_t flow;
    if (dp_fluid_new("carbon dioxide", &fluid) != DP_OK) {
        return 1;
    }
    printf("length in cm, for mg/min of\n%6s", "um");
    for (flow = 0; flow < sizeof FLOWS_MG_PER_MIN / sizeof *FLOWS_MG_PER_MIN; flow++) {
        printf(" %9.0f", FLOWS_MG_PER_MIN[flow]);
    }
    printf("\n");
    for (bore = 0; bore < sizeof BORES_UM / sizeof *BORES_UM; bore++) {
        printf("%6.0f", BORES_UM[bore]);
        for (flow = 0; flow < sizeof FLOWS_MG_PER_MIN / sizeof *FLOWS_MG_PER_MIN; flow++) {
            double length = 0.0;
            if (dp_linear_restrictor_length(fluid, BORES_UM[bore] * 1e-6, FLOWS_MG_PER_MIN[flow] * 1e-6 / 60.0, 393.15, 150e5,
                                            101325.0, &length)
                == DP_OK) {
                printf(" %9.3f", length * 100.0);
            } else {
                printf(" %9s", "-");
            }
        }
        printf("\n");
    }
    dp_fluid_free(fluid);
    return 0;
}
