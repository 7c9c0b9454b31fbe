// The answer of `size` in words.
#include <fmt/format.h>

#include "main/sizing.h"
#include "rules/list.h"
#include "show/wash.h"

namespace loomproof {
namespace {

std::string difference(const std::string& file, const SizeResult& result) {
  std::size_t widest = 0;
  std::size_t places = 0;
  const auto place = [&](const SizedValue& v) {
    return fmt::format("{}:{}:{}", washed(file), v.value.slot().at.line, v.value.slot().at.column);
  };
  for (const SizedValue& v : result.values) {
    widest = std::max(widest, washed(v.value.title()).size());
    places = std::max(places, place(v).size());
  }
  std::string out;
  for (const SizedValue& v : result.values) {
    const std::string& now = v.value.options[v.option].text;
    if (now == v.value.slot().written) continue;
    out += fmt::format("{:<{}}  {:<{}}  {} -> {}{}\n", place(v), places, washed(v.value.title()), widest,
                       washed(v.value.slot().written), washed(now),
                       v.why.empty() ? ", the smallest in stock" : fmt::format(", {}", v.why));
  }
  return out;
}

std::string proof(const SizeRequest& request, const SizeResult& result) {
  const bool by_weight = request.objective == Objective::weight;
  const auto amount = [&](double cost) {
    return by_weight ? fmt::format("{:.3f} kg of copper", cost) : fmt::format("a price of {:.2f}", cost);
  };
  if (result.proved()) {
    return fmt::format("{}: optimal, no choice from this stock that holds is {}\n", amount(result.cost),
                       by_weight ? "lighter" : "cheaper");
  }
  return fmt::format("{}: no choice that holds has less than {}, so at most {:.1f} % could be saved\n",
                     amount(result.cost), amount(result.bound),
                     100 * (result.cost - result.bound) / std::max(result.cost, 1e-12));
}

std::string conflict(const std::string& file, const SizeResult& result) {
  std::string out = fmt::format("{}: nothing in stock can hold; these facts do not go together:\n", washed(file));
  for (const Reason& fact : result.facts) {
    out += fact.at ? fmt::format("  {}:{}:{}: {}\n", washed(file), fact.at.line, fact.at.column, washed(fact.text))
                   : fmt::format("  {}\n", washed(fact.text));
  }
  return out + "nothing was written\n";
}

}  // namespace

std::string text_of(const std::string& file, const SizeRequest& request, const SizeResult& result) {
  switch (result.outcome) {
    case SizeResult::Outcome::conflict:
      return conflict(file, result);
    case SizeResult::Outcome::gave_up:
      return fmt::format(
          "{}: no choice that holds was found in {} trials, and none was excluded; nothing was written\n", washed(file),
          result.trials);
    case SizeResult::Outcome::nothing:
      return fmt::format("{}: {}\n", washed(file),
                         request.all ? "no value is left as `choose`, and none has to do with anything broken"
                                     : "no value is left as `choose`; --all frees what is broken");
    case SizeResult::Outcome::found:
      break;
  }
  std::string out = difference(file, result);
  out += fmt::format("{} values chosen in {} trials with {:.0f} % of every limit left over\n", result.values.size(),
                     result.trials, request.margin * 100);
  out += proof(request, result);
  for (const Obligation& owed : result.remaining) {
    out += fmt::format("not a matter of sizes, still broken: {}: {}\n", owed.rule->slug, washed(owed.what));
  }
  if (result.undecided > 0) {
    out +=
        fmt::format("{} obligations stay undecided: `loomproof check` says which data they lack\n", result.undecided);
  }
  return out;
}

}  // namespace loomproof
