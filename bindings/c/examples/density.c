/* The density of carbon dioxide at 40 degC and 150 bar. Build: cc density.c $(pkg-config --cflags --libs densepath) */
#include <densepath.h>
#include <stdio.h>

int main(void)
{
    dp_fluid *co2 = NULL;
    double density = 0.0;
    char message[512] = "";
    dp_status status = dp_fluid_new("carbon dioxide", &co2);
    if (status == DP_OK) {
        status = dp_density(co2, 313.15, 150e5, &density);
    }
    dp_last_error_message(message, sizeof message, NULL);
    printf("%.3f kg/m3 %s\n", density, message);
    dp_fluid_free(co2);
    return status == DP_OK ? 0 : 1;
}
