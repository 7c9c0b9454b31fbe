// The fault dictionary packed for the page.
#include "show/report_faults.h"

#include <algorithm>
#include <cmath>
#include <map>

#include "show/json_values.h"
#include "show/wash.h"

namespace loomproof::report {
namespace {

constexpr int on_reference = -1, no_point = -2;

Json tenths_of(std::optional<double> v) {
  return v ? Json(std::lround(*v * 10)) : Json(nullptr);
}

bool is_live(std::optional<double> v) {
  return v && std::fabs(*v) > dead_v;
}

// A value for every knob; none where a situation has one that no knob shows.
std::optional<Json> knobs_of(const Loom& loom, const Explorer& explorer, const Situation& s) {
  Json out = Json::array();
  for (std::size_t p = 0; p < loom.parts.size(); ++p) {
    if (loom.parts[p].positions.size() > 1) out.push_back(s.positions[p]);
  }
  const std::vector<std::string>& charges = explorer.knobs[out.size()].values;
  const auto full = std::find(charges.begin(), charges.end(), "full");
  if (full == charges.end()) return std::nullopt;
  out.push_back(full - charges.begin());
  out.push_back(0);
  return out;
}

// By terminal, where a meter reads its node: a stud of the frame that may come off is a node of its own.
std::vector<int> points_of_terminals(const Solved& solved, const FaultDictionary& d) {
  const Loom& loom = *solved.loom;
  const auto is_stud = [&](std::size_t t) { return loom.kind_of(loom.part(loom.terminals[t].part)).is_frame; };
  std::vector<int> out(loom.terminals.size(), no_point);
  for (std::size_t t = 0; t < out.size(); ++t) {
    for (std::size_t i = 0; i < d.points.size() && out[t] < 0; ++i) {
      const std::size_t at = d.points[i].terminal.value;
      const auto node = [&](std::size_t of) { return solved.circuit.node(TerminalIndex{of}); };
      if (at == t || (node(at) == node(t) && !is_stud(t) && !is_stud(at))) out[t] = static_cast<int>(i);
      if (node(d.points[i].reference.value) == node(t)) out[t] = on_reference;
      if (at == t) out[t] = static_cast<int>(i);
    }
  }
  return out;
}

class Packing {
 public:
  Packing(const Solved& solved, const FaultDictionary& d, bool coarse) : solved_(solved), d_(d), coarse_(coarse) {}

  Json packed(const Explorer& explorer) {
    const Loom& loom = *solved_.loom;
    Json out;
    out["coarse"] = coarse_;
    Json& situations = out["situations"] = Json::array();
    for (const Situation& s : d_.situations) {
      std::optional<Json> knobs = knobs_of(loom, explorer, s);
      if (!knobs) return nullptr;
      situations.push_back(*std::move(knobs));
    }
    const std::vector<int> points = points_of_terminals(solved_, d_);
    Json& wires = out["wires"] = Json::array();
    for (const Wire& wire : loom.wires) wires.push_back(Json::array({points[wire.from.value], points[wire.to.value]}));
    Json& things = out["things"] = Json::array();
    for (const std::string& thing : d_.things) things.push_back(washed(thing));
    Json& sound = out["sound"] = Json::array();
    for (const auto& readings : d_.sound) {
      Json row = Json::array();
      for (const auto& reading : readings) row.push_back(tenths_of(reading.volts));
      sound.push_back(std::move(row));
    }
    out["on"] = d_.sound_on;
    Json& groups = out["groups"] = Json::array();
    Json& faults = out["faults"] = Json::array();
    for (std::size_t f = 0; f < d_.entries.size(); ++f) {
      const Fault& fault = d_.entries[f].fault;
      if (f == 0 || fault.type != d_.entries[f - 1].fault.type) groups.push_back(Json::array({name_of(fault.type), f}));
      const std::optional<WireIndex> wire = wire_of(fault);
      Json one = Json::array({washed(describe(loom, fault)), wire ? Json(wire->value) : Json(nullptr)});
      for (const auto& shown : d_.entries[f].shown) {
        const std::optional<std::size_t> difference = difference_of(shown);
        if (!difference) continue;
        one.push_back(shown.situation);
        one.push_back(*difference);
      }
      faults.push_back(std::move(one));
    }
    out["differences"] = std::move(differences_);
    return out;
  }

 private:
  std::optional<std::size_t> difference_of(const FaultDictionary::Shown& shown) {
    Json readings = Json::array();
    for (const auto& reading : shown.readings) {
      const auto& was = d_.sound[shown.situation][reading.test_point].volts;
      if (coarse_ && is_live(was) == is_live(reading.volts) && was.has_value() == reading.volts.has_value()) continue;
      readings.push_back(reading.test_point);
      readings.push_back(tenths_of(reading.volts));
    }
    if (readings.empty() && shown.lost.empty() && shown.gained.empty() && shown.trouble.empty()) return std::nullopt;
    Json one = Json::array({shown.lost, shown.gained, std::move(readings), shown.trouble.empty() ? 0 : 1});
    const auto [at, fresh] = known_.try_emplace(one.dump(), differences_.size());
    if (fresh) differences_.push_back(std::move(one));
    return at->second;
  }

  const Solved& solved_;
  const FaultDictionary& d_;
  bool coarse_;
  std::map<std::string, std::size_t> known_;
  Json differences_ = Json::array();
};

}  // namespace

std::optional<Json> packed_faults(const Solved& solved, const FaultDictionary& d, const Explorer& explorer,
                                  std::size_t most_bytes) {
  for (const bool coarse : {false, true}) {
    Json out = Packing(solved, d, coarse).packed(explorer);
    if (out.is_null()) return std::nullopt;
    if (out.dump().size() <= most_bytes) return out;
  }
  return std::nullopt;
}

}  // namespace loomproof::report
