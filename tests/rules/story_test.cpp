// What a walk over single faults leaves open is no proof: situations that did not settle, and those that nobody walked.
//
// The networks that these files describe come to rest or chatter, and a chatter is looked at step by step; so the walk of
// a design that holds is given such a gap by hand.
#include <memory>
#include <string>

#include <doctest/doctest.h>

#include "rules/design.h"
#include "solve/fault_walk.h"

namespace {

using loomproof::FaultWalk;
using loomproof::Obligation;
using loomproof::Solved;
using loomproof::Verdict;
using loomproof::WatchResult;

// The two-way brake of drive-cut, judged after `spoil` has changed its walk.
template <class Spoil>
std::vector<Obligation> drive_cut_after(Spoil spoil) {
  const auto path = loomproof::test::rules_folder() / "drive-cut" / "near-two-ways.yaml";
  const loomproof::ReadResult read = loomproof::read_loom(loomproof::test::text_of_file(path), path.string());
  REQUIRE(read.loom.has_value());
  Solved solved = loomproof::solve(*read.loom);
  FaultWalk walk = *solved.faults;
  spoil(walk);
  solved.faults = std::make_shared<const FaultWalk>(std::move(walk));
  std::vector<Obligation> out;
  for (const Obligation& owed : loomproof::judge(solved).obligations) {
    if (owed.rule->slug == "drive-cut") out.push_back(owed);
  }
  REQUIRE_FALSE(out.empty());
  return out;
}

}  // namespace

TEST_CASE("a walk that came to an end everywhere proves the design") {
  for (const Obligation& owed : drive_cut_after([](FaultWalk&) {})) CHECK(owed.verdict == Verdict::holds);
}

TEST_CASE("situations that did not settle under a fault leave the watch undecided") {
  const auto judged = drive_cut_after([](FaultWalk& walk) {
    for (WatchResult& w : walk.watches) w.unsettled = 3;
  });
  for (const Obligation& owed : judged) {
    CHECK(owed.verdict == Verdict::undecided);
    CHECK_MESSAGE(owed.what.find("3 situations did not settle") != std::string::npos, owed.what);
  }
}

TEST_CASE("situations that nobody walked leave the watch undecided") {
  const auto judged = drive_cut_after([](FaultWalk& walk) { walk.left_out = "half of them"; });
  for (const Obligation& owed : judged) {
    CHECK(owed.verdict == Verdict::undecided);
    CHECK_MESSAGE(owed.what.find("half of them") != std::string::npos, owed.what);
  }
}
