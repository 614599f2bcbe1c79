// States of a mobile phase with modifier, in C++.
//
// Build: c++ -std=c++17 states.cpp $(pkg-config --cflags --libs densepath) -o states
#include <densepath.hpp>

#include <cstdio>

int main()
{
    const densepath::Fluid mobile_phase({{"carbon dioxide", 0.9}, {"methanol", 0.1}});
    std::printf("%s: %s\n", mobile_phase.name().c_str(), mobile_phase.model().c_str());

    const densepath::State column = mobile_phase.state_from_tp(313.15, 150e5);
    std::printf("%.1f kg/m3, %.1f uPa s, %s, %.1f bar from a second phase\n", column.density(),
                column.dynamic_viscosity() * 1e6, column.phase_name().c_str(), column.single_phase_margin() / 1e5);
    for (const densepath::Phase &phase : mobile_phase.flash(300.0, 50e5)) {
        std::printf("  %.3f of the amount at %.1f kg/m3\n", phase.fraction, phase.state.density());
    }
    try {
        mobile_phase.density(40.0, 150e5);
    } catch (const densepath::Error &error) {
        std::printf("refused (%d): %s\n", static_cast<int>(error.code()), error.what());
    }
    return 0;
}
