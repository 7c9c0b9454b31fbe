// What the page's script needs, as JSON in ASCII.
#include <map>

#include "show/finding_text.h"
#include "show/fuse_use.h"
#include "show/json_values.h"
#include "show/report_faults.h"
#include "show/report_sections.h"
#include "show/report_situations.h"
#include "show/wash.h"
#include "units/print.h"

namespace loomproof::report {
namespace {

// Values that run alike are stored once.
class Pool {
 public:
  std::size_t index_of(const Shown& shown) {
    const auto key = std::make_tuple(shown.labels, shown.cone.knobs, shown.cone.table);
    const auto [at, fresh] = known_.try_emplace(key, entries_.size());
    if (fresh) entries_.push_back(Json{{"l", shown.labels}, {"k", shown.cone.knobs}, {"t", shown.cone.table}});
    return at->second;
  }
  const Json& entries() const { return entries_; }

 private:
  std::map<std::tuple<std::vector<std::string>, std::vector<std::size_t>, std::string>, std::size_t> known_;
  Json entries_ = Json::array();
};

std::string about(const Story& story, std::size_t w) {
  const Loom& loom = story.loom;
  const Wire& wire = loom.wires[w];
  std::string out = wire.name + ": " + loom.title(wire.from) + " to " + loom.title(wire.to);
  if (wire.size) out += ", " + show(wire.size->value);
  if (wire.colour) out += " " + wire.colour->value;
  if (wire.length) out += ", " + show(wire.length->value);
  const FuseUse use = most_in_use(story.solved, WireIndex{w});
  if (use.most.value > 0) out += ". At most " + show(use.most) + (use.precharge ? " as precharge begins" : "");
  const WireHeat& heat = story.solved.heat[w];
  if (heat.state == WireHeat::State::computed) out += ", " + show(heat.peak) + " of " + show(heat.limit);
  return washed(out + ".");
}

Json path_of(const Obligation& owed) {
  Json path = Json::array();
  for (const WireIndex wire : owed.path) path.push_back(wire.value);
  return path;
}

}  // namespace

std::string script_data(const Story& story) {
  Json data;
  Json& wires = data["wires"] = Json::array();
  for (std::size_t w = 0; w < story.loom.wires.size(); ++w) {
    wires.push_back(Json{{"name", washed(story.loom.wires[w].name)},
                         {"about", about(story, w)},
                         {"findings", findings_of(story, WireIndex{w})}});
  }
  Json& found = data["findings"] = Json::array();
  for (const Obligation* owed : story.findings) {
    found.push_back(Json{{"says", washed(std::string(headword_of(*owed)) + ": " + sentence_of(*owed))},
                         {"wire", owed->subject.wire ? Json(owed->subject.wire->value) : Json(nullptr)},
                         {"path", path_of(*owed)}});
  }
  const std::optional<Explorer> explorer = explorer_of(story.solved);
  if (explorer) {
    Pool pool;
    Json& e = data["explorer"];
    Json& knobs = e["knobs"] = Json::array();
    for (const Knob& knob : explorer->knobs) {
      Json values = Json::array();
      for (const std::string& value : knob.values) values.push_back(washed(value));
      knobs.push_back(Json{{"name", washed(knob.name)}, {"values", values}});
    }
    e["settled"] = Json{{"k", explorer->settled.knobs}, {"t", explorer->settled.table}};
    Json& volts = e["volts"] = Json::array();
    for (const Shown& shown : explorer->wire_volts) volts.push_back(pool.index_of(shown));
    Json& amps = e["amps"] = Json::array();
    for (const Shown& shown : explorer->wire_amps) amps.push_back(pool.index_of(shown));
    Json& states = e["states"] = Json::array();
    for (const NamedShown& state : explorer->states) {
      states.push_back(Json{{"name", washed(state.name)}, {"is", pool.index_of(state.shown)}});
    }
    e["pool"] = pool.entries();
    const std::optional<Json> faults = packed_faults(story.solved, fault_dictionary(story.solved), *explorer);
    if (faults) e["faults"] = *faults;
  }
  return data.dump(-1, ' ', true, Json::error_handler_t::replace);
}

}  // namespace loomproof::report
