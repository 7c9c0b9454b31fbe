// Tolerances are applied to the loom after it was read, so that the rules see nothing unusual.
#include "size/trial.h"

#include <algorithm>
#include <stdexcept>

#include "rules/list.h"
#include "size/edit.h"

namespace loomproof {
namespace {

void stretch(Loom& loom, double length, double pack_resistance, double ambient_k) {
  for (Wire& wire : loom.wires) {
    if (wire.length) wire.length->value = wire.length->value * length;
  }
  for (Source& source : loom.elements.sources) {
    if (source.sinks && source.ohm.value) *source.ohm.value *= pack_resistance;
  }
  // Air of which the file says nothing is taken as 40 degC by the rules.
  if (!loom.ambient) loom.ambient = Placed<Celsius>{Celsius(40), {}, {}};
  loom.ambient->value = loom.ambient->value + Celsius(ambient_k);
  for (Bundle& bundle : loom.bundles) {
    if (bundle.ambient) bundle.ambient->value = bundle.ambient->value + Celsius(ambient_k);
  }
}

Corner corner_of(std::string name, const Loom& read) {
  return {std::move(name), std::make_unique<Loom>(read), {}, {}};
}

}  // namespace

std::size_t Trial::broken() const {
  std::size_t most = 0;
  for (const Corner& corner : corners) most = std::max(most, corner.judgement.count(Verdict::broken));
  return most;
}

std::string Ground::text_with(const Choice& choice) const {
  std::vector<Edit> edits;
  for (std::size_t v = 0; v < values.size(); ++v) {
    edits.push_back({values[v].slot().at, values[v].slot().written, values[v].options[choice[v]].text});
  }
  auto out = edited(text, std::move(edits));
  if (!out) throw std::runtime_error("a value of the file does not stand where it was read");
  return std::move(*out);
}

Trial try_choice(const Ground& ground, const Choice& choice) {
  const std::optional<Loom> read = ground.read(ground.text_with(choice));
  if (!read) throw std::runtime_error("the file with its values filled in does not read");
  Trial trial;
  trial.corners.push_back(corner_of("as written", *read));
  const Tolerance& t = ground.tolerance;
  if (!t.none()) {
    trial.corners.push_back(corner_of("wires long, pack weak, air hot", *read));
    stretch(*trial.corners.back().loom, 1 + t.length, 1 + t.pack_resistance, t.ambient_k);
    trial.corners.push_back(corner_of("wires short, pack stiff, air hot", *read));
    stretch(*trial.corners.back().loom, 1 - t.length, 1 - t.pack_resistance, t.ambient_k);
  }
  for (Corner& corner : trial.corners) {
    corner.solved = solve(*corner.loom, false);  // sizes alter no switch: check walks the faults
    corner.judgement = judge(corner.solved);
  }
  return trial;
}

std::string Ground::key(const Obligation& owed) {
  return std::string(owed.rule->slug) + " " + owed.subject.name;
}

bool misses(const Ground& ground, const Obligation& owed) {
  if (!owed.waived.empty()) return false;
  // Protection is judged by the slowest fuse of its kind already; a margin there would refuse a wire whose thinner
  // neighbour is a short tap and needs no device.
  const bool near = owed.verdict == Verdict::holds && owed.figure && owed.figure->used > 1 - ground.margin &&
                    owed.rule->slug != "fuse-protects-wire";
  const bool past = owed.verdict == Verdict::broken || near;
  return past && (ground.hopeless.empty() || !ground.hopeless.contains(Ground::key(owed)));
}

}  // namespace loomproof
