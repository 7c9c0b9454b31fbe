// A watch of the walk told as a story: the smallest switch state and fault, the way of the current, what each input
// reads against its threshold. Grades it and lists the single points of failure that remain.
#pragma once

#include <string>

#include "rules/ledger.h"
#include "solve/fault_walk.h"
#include "solve/solved.h"

namespace loomproof {

struct StoryWords {
  std::string happens;  // "'drive' gives torque with 'lever' pressed"
  std::string stays;    // "no torque with 'lever' pressed": what holds otherwise
  std::string fix;
  Severity with_sign = Severity::damage;  // weight where one fault does it and shows
  Severity silent = Severity::danger;     // and where it does not show
  /// Only the fault-free case counts as broken; faults that do it are listed as single points of failure.
  bool faults_only_listed = false;
  /// A contact that welds is listed: only a second one in series helps, as with the switch itself.
  bool welds_only_listed = false;
};

/// Broken without a fault: danger. By one fault that shows nowhere else: danger. By one that announces itself: damage.
/// A fault of the very switch that the watch is about is no matter of wiring: it is listed as a single point of
/// failure.
void judge_watch(const Solved&, const WatchResult&, const StoryWords&, Obligation&, Ledger&);

/// By which conductors a terminal gets its voltage in a settled point, as a note and as the path to mark; nothing where
/// none lead there.
void tell_feed(const Solved&, const OperatingPoint&, TerminalIndex, Obligation&);

/// The same for every digital input of a part that is asserted: what lets a controller drive.
void tell_enables(const Solved&, const OperatingPoint&, PartIndex, Obligation&);

/// "'lever' pressed and 'key' on" of the watch's own switches.
std::string when_of(const Loom&, const Watch&);

}  // namespace loomproof
