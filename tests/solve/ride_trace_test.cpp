// The temperature over a ride agrees with the peak that the rule judges.
#include "solve/ride_trace.h"

#include <algorithm>
#include <fstream>
#include <sstream>

#include <doctest/doctest.h>

#include "read/read.h"
#include "solve/solved.h"

using namespace loomproof;

TEST_CASE("the highest point of a trace is the judged peak, and the round closes on itself") {
  for (const char* name : {"orchard-cart", "marshals-quad", "parcel-trike"}) {
    CAPTURE(name);
    std::ifstream file(std::string(SOURCE_ROOT) + "/netlists/" + name + ".yaml");
    std::ostringstream text;
    text << file.rdbuf();
    const ReadResult read = read_loom(text.str(), name);
    REQUIRE(read.loom);
    const Loom& loom = *read.loom;
    const Solved solved = solve(loom);
    std::size_t judged_in_ride = 0;
    for (const HeatCase& ride : heat_cases(loom, solved.circuit, solved.points)) {
      if (ride.steps.size() < 2) continue;
      double whole_s = 0;
      for (const HeatStepCase& s : ride.steps) whole_s += s.lasts->value;
      for (std::size_t w = 0; w < loom.wires.size(); ++w) {
        const WireHeat& heat = solved.heat[w];
        const auto trace = ride_trace(loom, solved.circuit, solved.points, ride, WireIndex{w}, heat.bundle);
        REQUIRE_FALSE(trace.empty());
        CAPTURE(loom.wires[w].name);
        double peak_c = -300;
        for (const HeatSample& s : trace) peak_c = std::max(peak_c, s.conductor.value);
        CHECK(peak_c <= heat.peak.value + 0.05);
        CHECK(trace.front().moment.value == doctest::Approx(0));
        CHECK(trace.back().moment.value == doctest::Approx(whole_s));
        CHECK(std::abs((trace.front().conductor - trace.back().conductor).value) < 0.1);
        if (!heat.when.ends_with("in ride '" + ride.name + "'") || heat.current.value == 0) continue;
        ++judged_in_ride;
        CHECK(peak_c == doctest::Approx(heat.peak.value).epsilon(0.002));
      }
    }
    CHECK(judged_in_ride >= 3);
  }
}
