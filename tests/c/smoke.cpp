// The header is good C++17, and handles can be held by smart pointers.
#include <densepath.h>
#include <densepath.h>

#include <cmath>
#include <cstdio>
#include <memory>
#include <string>

namespace {

struct FreeFluid {
    void operator()(dp_fluid *fluid) const noexcept { dp_fluid_free(fluid); }
};

std::string last_message()
{
    std::size_t needed = 0;
    dp_last_error_message(nullptr, 0, &needed);
    std::string text(needed, '\0');
    dp_last_error_message(&text[0], text.size(), nullptr);
    text.resize(needed - 1);
    return text;
}

} // namespace

int main()
{
    int passed = 0;
    int failed = 0;
    const auto check = [&](bool holds) { ++(holds ? passed : failed); };

    dp_fluid *raw = nullptr;
    check(dp_fluid_new("carbon dioxide", &raw) == DP_OK);
    const std::unique_ptr<dp_fluid, FreeFluid> fluid(raw);

    // Span and Wagner (1996), computed independently with CoolProp 8.0.0: 780.233 kg/m3 at 40 degC and 150 bar.
    double density = 0.0;
    check(dp_density(fluid.get(), 313.15, 150e5, &density) == DP_OK);
    check(std::fabs(density - 780.233) < 6e-4);

    check(dp_density(fluid.get(), 40.0, 150e5, &density) == DP_ERROR_OUT_OF_RANGE);
    check(last_message().find("did you mean 40 degC = 313.15 K?") != std::string::npos);

    std::printf("smoke: %d passed, %d failed\n", passed, failed);
    return failed == 0 ? 0 : 1;
}
