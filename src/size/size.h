// Sizes that hold: every wire, fuse, contact and resistor that is free, chosen together, the lightest or the cheapest.
#pragma once

#include <string>
#include <vector>

#include "model/slot.h"
#include "model/stock.h"
#include "rules/ledger.h"
#include "size/problem.h"
#include "size/trial.h"
#include "size/value.h"

namespace loomproof {

struct SizeRequest {
  std::string text;         // of the file
  std::vector<Slot> slots;  // every size of it and where it stands
  ReadLoom read;
  Stock stock;
  Objective objective = Objective::weight;
  bool all = false;  // free what is broken as well, not only what is left as `choose`
  double margin = default_margin;
  Tolerance tolerance;
  std::size_t most_rounds = 60;  // trials after the lower ends are known

  static constexpr double default_margin = 0.05;
};

struct SizedValue {
  Value value;
  std::size_t option = 0;
  std::string why;  // what asks for it: a slug, or words; empty: the smallest in stock does
};

struct SizeResult {
  enum class Outcome {
    found,     // `text` holds as far as sizes can make it
    nothing,   // no value is free
    conflict,  // no choice holds: see `facts`
    gave_up,   // none was found within the rounds, and none was excluded
  } outcome = Outcome::nothing;
  std::string text;  // the whole new file
  std::vector<SizedValue> values;
  double cost = 0;   // kg or money
  double bound = 0;  // no choice that holds with fuses as small costs less; `cost` within 1e-5 when that is proved
  bool proved() const { return bound >= cost * (1 - 2e-5) - 1e-9; }
  std::vector<Reason> facts;          // of a conflict: leave any one of them out and the rest can hold
  std::vector<Obligation> remaining;  // broken ones that no size mends
  std::size_t undecided = 0;
  std::size_t trials = 0;
};

/// How it works: docs/size.md. Every trial is the whole of `check`; the result was tried as it is returned.
SizeResult size_loom(const SizeRequest&);

}  // namespace loomproof
