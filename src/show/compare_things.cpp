// Parts, bundles, duty points, requirements, waivers and conditions, by name.
#include <algorithm>
#include <map>

#include <fmt/format.h>

#include "show/compare.h"
#include "units/print.h"

namespace loomproof {
namespace {

// The name of a thing and everything about it that counts, as texts by attribute. Same texts = unchanged.
using Facts = std::map<std::string, std::string>;
using Things = std::vector<std::pair<std::string, Facts>>;

std::string scalar_text(const Scalar& scalar) {
  struct Text {
    std::string operator()(const Magnitude& m) const { return show(m.value, m.dimension); }
    std::string operator()(const std::string& s) const { return s; }
    std::string operator()(bool b) const { return b ? "true" : "false"; }
    std::string operator()(const std::vector<std::string>& list) const {
      std::string out;
      for (const std::string& s : list) out += (out.empty() ? "" : ", ") + s;
      return out;
    }
    std::string operator()(const std::vector<CurveRow>& rows) const {
      std::string out;
      for (const CurveRow& r : rows) {
        out += fmt::format("{}{} x: {} to {}", out.empty() ? "" : "; ", r.multiple, show(Second(r.fastest_s)),
                           show(Second(r.slowest_s)));
      }
      return out;
    }
  };
  return std::visit(Text{}, scalar.value);
}

std::string positions_text(const Loom& loom, const std::vector<std::pair<PartIndex, int>>& with) {
  std::string out;
  for (const auto& [part, position] : with) {
    out += fmt::format("{}{} {}", out.empty() ? "" : ", ", loom.part(part).name,
                       loom.part(part).positions[static_cast<std::size_t>(position)]);
  }
  return out;
}

Things parts_of(const Loom& loom) {
  Things out;
  for (const Part& part : loom.parts) {
    Facts facts{{"is", part.kind}};
    for (const auto& [name, scalar] : part.attributes) {
      facts[name] = scalar_text(scalar) + (scalar.assumed ? " (assumed)" : "");
    }
    out.emplace_back(part.name, std::move(facts));
  }
  return out;
}

Things bundles_of(const Loom& loom) {
  Things out;
  for (const Bundle& bundle : loom.bundles) {
    Facts facts;
    if (bundle.ambient) facts["ambient"] = show(bundle.ambient->value);
    if (bundle.sleeve) facts["sleeve"] = bundle.sleeve->value;
    out.emplace_back(bundle.name, std::move(facts));
  }
  return out;
}

Things duty_of(const Loom& loom) {
  Things out;
  for (const DutyPoint& duty : loom.duty) {
    Facts facts;
    for (const ChannelCurrent& c : duty.currents) facts[loom.part(c.part).name + "." + c.channel] = show(c.amps);
    if (duty.lasts) facts["for"] = show(*duty.lasts);
    if (!duty.with.empty()) facts["with"] = positions_text(loom, duty.with);
    out.emplace_back(duty.name, std::move(facts));
  }
  for (const Ride& ride : loom.rides) {
    std::string points;
    for (DutyIndex d : ride.points) points += (points.empty() ? "" : ", ") + loom.duty[d.value].name;
    out.emplace_back(ride.name, Facts{{"ride", points}});
  }
  return out;
}

Things musts_of(const Loom& loom) {
  Things out;
  for (const Must& must : loom.musts) {
    std::string what;
    if (must.output) what = loom.part(must.output->first).name + "." + must.output->second;
    if (must.live) what = "live " + loom.title(*must.live);
    out.emplace_back(must.name,
                     Facts{{"when", positions_text(loom, must.when)}, {must.never ? "never" : "always", what}});
  }
  return out;
}

Things waivers_of(const Loom& loom) {
  Things out;
  for (const Waiver& waiver : loom.waivers) {
    out.emplace_back(waiver.subject.empty() ? waiver.rule : waiver.rule + " " + waiver.subject,
                     Facts{{"reason", waiver.reason}});
  }
  return out;
}

Things conditions_of(const Loom& loom) {
  Facts facts;
  if (loom.ambient) facts["ambient"] = show(loom.ambient->value);
  if (loom.coldest) facts["coldest"] = show(loom.coldest->value);
  return {{"", facts}};
}

std::vector<Change> between(const Facts& before, const Facts& after) {
  std::vector<Change> out;
  for (const auto& [name, text] : before) {
    const auto now = after.find(name);
    if (now == after.end()) {
      out.push_back({name, text, ""});
    } else if (now->second != text) {
      out.push_back({name, text, now->second});
    }
  }
  for (const auto& [name, text] : after) {
    if (!before.contains(name)) out.push_back({name, "", text});
  }
  return out;
}

const Facts* find(const Things& things, const std::string& name) {
  const auto at = std::find_if(things.begin(), things.end(), [&](const auto& thing) { return thing.first == name; });
  return at == things.end() ? nullptr : &at->second;
}

void compare_things(const char* kind, const Things& before, const Things& after, std::vector<ThingChange>& out) {
  for (const auto& [name, facts] : after) {
    const Facts* old = find(before, name);
    std::vector<Change> changes = between(old ? *old : Facts{}, facts);
    if (!old) {
      out.push_back({kind, name, true, std::move(changes)});
    } else if (!changes.empty()) {
      out.push_back({kind, name, std::nullopt, std::move(changes)});
    }
  }
  for (const auto& [name, facts] : before) {
    if (!find(after, name)) out.push_back({kind, name, false, {}});
  }
}

}  // namespace

std::vector<ThingChange> thing_changes(const Loom& before, const Loom& after) {
  std::vector<ThingChange> out;
  compare_things("part", parts_of(before), parts_of(after), out);
  compare_things("bundle", bundles_of(before), bundles_of(after), out);
  compare_things("duty", duty_of(before), duty_of(after), out);
  compare_things("requirement", musts_of(before), musts_of(after), out);
  compare_things("waiver", waivers_of(before), waivers_of(after), out);
  compare_things("conditions", conditions_of(before), conditions_of(after), out);
  return out;
}

}  // namespace loomproof
