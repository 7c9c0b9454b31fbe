// `why`: the page of a rule, or the list of all rules with what each promises.
#include <unistd.h>

#include <memory>

#include <fmt/format.h>

#include "main/commands.h"
#include "main/output.h"
#include "read/nearest.h"
#include "rules/list.h"
#include "show/show.h"
#include "show/wash.h"

namespace loomproof {
namespace {

std::string list_text() {
  std::size_t widest = 0;
  for (const Rule* rule : all_rules()) widest = std::max(widest, rule->slug.size());
  std::string out;
  std::optional<Group> group;
  for (const Rule* rule : all_rules()) {
    if (group != rule->group) out += fmt::format("{}{}\n", out.empty() ? "" : "\n", name_of(rule->group));
    group = rule->group;
    std::string promise = wrapped(rule->promise, widest + 4, 100);
    promise.replace(2, rule->slug.size(), rule->slug);
    out += promise;
  }
  return out;
}

std::string head_of(const Rule& rule) {
  return fmt::format("{} ({}, {})\n{}\n", rule.slug, name_of(rule.group), name_of(rule.severity), rule.promise);
}

Exit why(const std::string& slug) {
  if (slug.empty()) return write_stdout(list_text()) ? Exit::holds : Exit::outside;
  const Rule* rule = find_rule(slug);
  if (!rule) {
    std::vector<std::string_view> known;
    for (const Rule* each : all_rules()) known.push_back(each->slug);
    const std::optional<std::string_view> near = find_nearest(slug, known);
    tell(fmt::format("there is no rule '{}'{}", washed(slug),
                     near ? fmt::format("; did you mean '{}'?", *near) : "; `loomproof why` lists all rules"));
    return Exit::unusable;
  }
  const std::optional<std::string> page = page_of(slug, wants_colour(STDOUT_FILENO));
  return write_stdout(page ? *page : head_of(*rule)) ? Exit::holds : Exit::outside;
}

}  // namespace

void add_why(CLI::App& app, Exit& code) {
  const auto slug = std::make_shared<std::string>();
  CLI::App* command =
      app.add_subcommand("why", "What RULE means, its formula, source and fix; without RULE, all rules");
  command->add_option("RULE", *slug, "As the findings name it");
  command->callback([slug, &code] { code = why(*slug); });
}

}  // namespace loomproof
