// What each single fault shows, as data for whoever looks for a fault from meter readings.
#include "show/json_faults.h"

#include <cmath>

#include "show/json_values.h"
#include "solve/describe.h"

namespace loomproof {
namespace {

// Millivolts are what a workshop meter shows.
Json volts_of(std::optional<double> v) {
  if (!v) return nullptr;
  const double rounded = std::round(*v * 1000) / 1000;
  return rounded == 0 ? 0.0 : rounded;
}

Json names_of(const FaultDictionary& d, const std::vector<std::size_t>& list) {
  Json out = Json::array();
  for (std::size_t i : list) out.push_back(d.things[i]);
  return out;
}

Json readings_of(const Loom& loom, const FaultDictionary& d, const std::vector<FaultDictionary::Reading>& list) {
  Json out = Json::object();
  for (const auto& r : list) out[loom.title(d.points[r.test_point].terminal)] = volts_of(r.volts);
  return out;
}

}  // namespace

Json json_of_faults(const Loom& loom, const FaultDictionary& d) {
  Json out;
  out["test_points"] = Json::array();
  for (const auto& p : d.points)
    out["test_points"].push_back({{"at", loom.title(p.terminal)}, {"against", loom.title(p.reference)}});
  out["situations"] = Json::array();
  for (std::size_t s = 0; s < d.situations.size(); ++s) {
    out["situations"].push_back({{"situation", describe(loom, d.situations[s])},
                                 {"on", names_of(d, d.sound_on[s])},
                                 {"reads", readings_of(loom, d, d.sound[s])}});
  }
  out["faults"] = Json::array();
  for (const auto& entry : d.entries) {
    Json one;
    one["fault"] = describe(loom, entry.fault);
    one["type"] = name_of(entry.fault.type);
    one["subject"] = name_of(loom, entry.fault);
    const Place at = place_of(loom, entry.fault);
    one["place"] = at ? Json{{"line", at.line}, {"column", at.column}} : Json(nullptr);
    one["shows"] = Json::array();
    for (const auto& s : entry.shown) {
      one["shows"].push_back({{"situation", s.situation},
                              {"off", names_of(d, s.lost)},
                              {"on", names_of(d, s.gained)},
                              {"reads", readings_of(loom, d, s.readings)},
                              {"trouble", s.trouble.empty() ? Json(nullptr) : Json(s.trouble)}});
    }
    out["faults"].push_back(std::move(one));
  }
  return out;
}

}  // namespace loomproof
