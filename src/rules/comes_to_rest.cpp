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

// Situations of one trouble: those that keep the same part switching are one, whatever else goes to and fro with it.
struct SeenTrouble {
  const OperatingPoint* first = nullptr;
  std::string trouble;  // the shortest that was said
  std::size_t count = 0;
};

constexpr std::string_view chatter = "chatters: ";

std::string rest_sentence(const std::string& trouble) {
  if (!trouble.starts_with(chatter)) return trouble;
  return trouble.substr(chatter.size()) + ": on and off without end, never at rest";
}

void judge_comes_to_rest(const Rule& rule, const Solved& solved, Ledger& ledger) {
  const Loom& loom = *solved.loom;
  const Subject whole{loom.vehicle.empty() ? std::string("the vehicle") : loom.vehicle, loom.vehicle_at, std::nullopt,
                      std::nullopt};
  std::map<std::string, SeenTrouble> troubles;
  for (const OperatingPoint& point : solved.troubled) {
    const bool chatters = point.trouble.starts_with(chatter);
    SeenTrouble& seen = troubles[chatters ? point.trouble.substr(0, point.trouble.find(',')) : point.trouble];
    if (seen.first == nullptr || point.trouble.size() < seen.trouble.size()) {
      seen.first = &point;
      seen.trouble = point.trouble;
    }
    ++seen.count;
  }
  for (const auto& [key, seen] : troubles) {
    Obligation& owed = ledger.open(rule, subject_in(loom, seen.trouble, whole));
    owed.broken(rest_sentence(seen.trouble), std::nullopt, solved.describe(seen.first->situation));
    if (seen.count > 1)
      owed.note(fmt::format("and in {} more situation{}", seen.count - 1, seen.count == 2 ? "" : "s"));
    owed.note("no other rule judged these situations");
    owed.fix(seen.trouble.starts_with("load dump")
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
