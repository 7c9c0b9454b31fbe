// `duty:`: points with named currents, and rides that string points together.
#include <fmt/core.h>

#include <algorithm>

#include "read/expect.h"
#include "read/keys.h"
#include "read/sections.h"
#include "units/parse.h"
#include "units/quote.h"

namespace loomproof {
namespace {

// Duty channels of a kind: what its loads and leads let a duty point set.
std::vector<std::string_view> channels_of(const Kind& kind) {
  std::vector<std::string_view> out;
  for (const PrimitiveRule& rule : kind.inside) {
    const auto channel = rule.arguments.find("channel");
    if (channel == rule.arguments.end()) continue;
    if (std::find(out.begin(), out.end(), channel->second) == out.end()) out.push_back(channel->second);
  }
  return out;
}

std::optional<ChannelCurrent> read_current(const Entry& e, Loom& loom, Names& names, Faults& faults) {
  const std::string_view key = e.key.text();
  const std::size_t dot = key.find('.');
  if (dot == std::string_view::npos) {
    unknown_key(e.key, "a duty point", keys::duty_point, faults);
    return std::nullopt;
  }
  const auto amps = read_quantity(e.value, Dimension::current, faults);
  const auto part = names.part(key.substr(0, dot), e.key.at());
  if (!part) return std::nullopt;
  const std::string_view channel = key.substr(dot + 1);
  const Part& p = loom.part(*part);
  const std::vector<std::string_view> known = channels_of(loom.kind_of(p));
  if (std::find(known.begin(), known.end(), channel) == known.end()) {
    std::string hint = faults.near(channel, known);
    if (hint.empty()) {
      hint = known.empty() ? fmt::format("a {} draws what its attributes say", quoted(p.kind))
                           : fmt::format("it has {}", listed(known));
    }
    faults.add(e.key.at(), fmt::format("part {} has no duty current {}", quoted(p.name), quoted(channel)),
               std::move(hint));
    return std::nullopt;
  }
  if (!amps) return std::nullopt;
  return ChannelCurrent{*part, std::string(channel), Ampere(amps->value), e.value.at()};
}

void read_point(const Entry& e, Loom& loom, Names& names, Faults& faults) {
  DutyPoint point;
  point.name = e.key.text();
  point.at = e.key.at();
  for (const Entry field : e.value.entries()) {
    if (field.key.text() == "for") {
      const auto lasts = read_quantity(field.value, Dimension::time, faults);
      if (lasts && lasts->value > 0) point.lasts = Second(lasts->value);
      if (lasts && !(lasts->value > 0)) {
        faults.add(field.value.at(), "a duty point of no time", "leave 'for' out when it lasts");
      }
    } else if (field.key.text() == "with") {
      point.with = names.positions(field.value);
    } else if (auto current = read_current(field, loom, names, faults)) {
      point.currents.push_back(std::move(*current));
    }
  }
  loom.duty.push_back(std::move(point));
  names.add_duty(DutyIndex{loom.duty.size() - 1});
}

void read_ride(const Entry& e, Loom& loom, Names& names, Faults& faults) {
  Ride ride;
  ride.name = e.key.text();
  ride.at = e.key.at();
  for (const View item : e.value.items()) {
    const auto point = names.duty(item);
    if (!point) continue;
    if (!loom.duty[point->value].lasts) {
      faults.add(item.at(), fmt::format("duty point {} lasts for ever, so a ride never leaves it", quoted(item.text())),
                 "give it a 'for:'");
    }
    ride.points.push_back(*point);
  }
  if (e.value.items().empty()) faults.add(e.value.at(), fmt::format("ride {} has no points", quoted(ride.name)));
  loom.rides.push_back(std::move(ride));
}

}  // namespace

void read_duty(View section, Loom& loom, Names& names, Faults& faults) {
  if (!expect_map(section, "duty points by name", faults, true)) return;
  // Rides may stand above the points that they name.
  for (const Entry e : section.entries()) {
    if (!check_name(e.key, "a duty point", faults) || e.value.is_list()) continue;
    if (expect_map(e.value, "a duty point or a list of them", faults)) read_point(e, loom, names, faults);
  }
  for (const Entry e : section.entries()) {
    if (e.value.is_list()) read_ride(e, loom, names, faults);
  }
}

}  // namespace loomproof
