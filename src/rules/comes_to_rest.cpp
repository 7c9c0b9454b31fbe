// comes-to-rest: in every situation relays, logic and currents come to rest, and all situations were looked at.
//
// docs/rules/comes-to-rest.md
#include <map>

#include "rules/list.h"
#include "rules/subject.h"

namespace loomproof {
namespace {

// "chatters: main.coil, main.main": the finding points at the part that the trouble names first.
Subject subject_in(const Loom& loom, const std::string& trouble, const Subject& whole) {
  const std::size_t colon = trouble.find(": ");
  if (colon == std::string::npos) return whole;
  const std::string_view first = std::string_view(trouble).substr(colon + 2);
  const auto part = loom.find_part(first.substr(0, first.find('.')));
  return part ? subject_of(loom, *part) : whole;
}

void judge_comes_to_rest(const Rule& rule, const Solved& solved, Ledger& ledger) {
  const Loom& loom = *solved.loom;
  const Subject whole{loom.vehicle.empty() ? std::string("the vehicle") : loom.vehicle, {}, std::nullopt, std::nullopt};
  std::map<std::string, std::pair<const OperatingPoint*, std::size_t>> troubles;
  for (const OperatingPoint& point : solved.troubled) {
    auto& slot = troubles[point.trouble];
    if (slot.first == nullptr) slot.first = &point;
    ++slot.second;
  }
  for (const auto& [trouble, seen] : troubles) {
    Obligation& owed = ledger.open(rule, subject_in(loom, trouble, whole));
    owed.broken(trouble, std::nullopt, solved.describe(seen.first->situation));
    if (seen.second > 1) owed.note(fmt::format("and in {} more situations", seen.second - 1));
    owed.note("no other rule judged these situations");
    owed.fix(trouble.starts_with("load dump")
                 ? "say with `volts` where the controller stops by itself, or let nothing open while it gives back"
                 : "a coil that opens its own supply, or a supply too weak for what it starts, must be parted");
  }
  if (troubles.empty()) ledger.open(rule, whole).holds("every situation settled");
  if (!solved.left_out.empty()) {
    ledger.open(rule, whole)
        .undecided(fmt::format("{} of {} situations were settled: {}", solved.situations_covered,
                               solved.situations_possible, solved.left_out),
                   "what was left out is not judged; split the file, or fix switches under `with` of the duty points");
  }
}

}  // namespace

const Rule comes_to_rest{
    .slug = "comes-to-rest",
    .group = Group::completeness,
    .severity = Severity::damage,
    .promise = "In every situation relays, logic and currents come to rest, and all situations were looked at.",
    .judge = judge_comes_to_rest,
};

}  // namespace loomproof
