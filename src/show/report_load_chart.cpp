// Voltage at each load: lowest while it works and highest ever, against what it needs and stands.
#include <algorithm>

#include <fmt/format.h>

#include "show/report_escape.h"
#include "show/report_sections.h"
#include "units/print.h"

namespace loomproof::report {
namespace {

// A consumer as the table shows it.
struct Row {
  std::string name;
  Extreme low, high;
  std::optional<double> needs_v, stands_v;
};

std::vector<Row> rows_of(const Story& story) {
  const Extremes& seen = story.solved.extremes;
  const Elements& all = story.loom.elements;
  std::vector<Row> rows;
  const auto title = [&](const Element& e, bool named) {
    const std::string& part = story.loom.part(e.part).name;
    return named && !e.name.empty() ? part + " (" + e.name + ")" : part;
  };
  const auto of_part = [&](const Load& load) {
    return std::count_if(all.loads.begin(), all.loads.end(), [&](const Load& l) { return l.part == load.part; });
  };
  for (std::size_t i = 0; i < all.loads.size(); ++i) {
    if (!seen.load_low_v[i] && !(seen.load_high_v[i].value > 0)) continue;  // nothing ever feeds it
    const Load& load = all.loads[i];
    rows.push_back(
        {title(load, of_part(load) > 1), seen.load_low_v[i], seen.load_high_v[i], load.low_v.value, load.high_v.value});
  }
  for (std::size_t i = 0; i < all.coils.size(); ++i) {
    if (!seen.coil_low_v[i] && !seen.coil_high_v[i]) continue;
    rows.push_back(
        {title(all.coils[i], true), seen.coil_low_v[i], seen.coil_high_v[i], all.coils[i].pull_in_v.value, {}});
  }
  for (std::size_t i = 0; i < all.converters.size(); ++i) {
    if (!seen.converter_low_v[i] && !seen.converter_high_v[i]) continue;
    rows.push_back({title(all.converters[i], false) + " (input)", seen.converter_low_v[i], seen.converter_high_v[i],
                    all.converters[i].low_v.value, all.converters[i].high_v.value});
  }
  return rows;
}

// 200 units wide: a line from lowest to highest, upright bars at the limits.
std::string bar(const Row& row, double most_v) {
  const auto x = [&](double v) { return fmt::format("{:.1f}", 4 + std::clamp(v / most_v, 0.0, 1.0) * 192); };
  std::string out =
      "<svg class=\"volts\" viewBox=\"0 0 200 18\" aria-hidden=\"true\"><path class=\"grid\" d=\"M4,9h192\"/>";
  const double low = row.low ? row.low.value : row.high.value, high = row.high ? row.high.value : low;
  out += fmt::format("<path class=\"span\" d=\"M{},9H{}\"/>", x(low), x(std::max(high, low + most_v * 0.008)));
  if (row.needs_v) out += fmt::format("<path class=\"limit\" d=\"M{0},1v16M{0},1h5M{0},17h5\"/>", x(*row.needs_v));
  if (row.stands_v && *row.stands_v <= most_v)
    out += fmt::format("<path class=\"limit\" d=\"M{0},1v16M{0},1h-5M{0},17h-5\"/>", x(*row.stands_v));
  return out + "</svg>";
}

std::string table(const Story& story, const std::vector<Row>& rows, std::string_view name) {
  double most_v = 1;
  for (const Row& row : rows) {
    for (const double v : {row.high.value, row.low.value, row.stands_v.value_or(0), row.needs_v.value_or(0)})
      most_v = std::max(most_v, v);
  }
  std::string out = fmt::format(
      "<h3>{0}</h3><div class=\"scroll\" tabindex=\"0\" role=\"region\" aria-label=\"{0}\"><table><thead><tr><th "
      "scope=\"col\">load</th><th scope=\"col\" class=\"n\">lowest while on</th><th scope=\"col\" "
      "class=\"n\">needs</th><th "
      "scope=\"col\" class=\"n\">highest</th><th scope=\"col\" class=\"n\">stands</th><th scope=\"col\">0 V to "
      "{1}</th><th "
      "scope=\"col\">lowest in</th></tr></thead><tbody>",
      name, show(Volt(most_v)));
  const auto volts = [](const std::optional<double>& v) { return v ? show(Volt(*v)) : std::string("not given"); };
  for (const Row& row : rows) {
    out += fmt::format(
        "<tr><th scope=\"row\">{}</th><td class=\"n\">{}</td><td class=\"n\">{}</td><td class=\"n\">{}</td><td "
        "class=\"n\">{}</td><td>{}</td><td class=\"long\">{}</td></tr>\n",
        html(row.name), row.low ? show(Volt(row.low.value)) : "never on", volts(row.needs_v),
        row.high ? show(Volt(row.high.value)) : "", volts(row.stands_v), bar(row, most_v),
        html(story.solved.describe(row.low)));
  }
  return out + "</tbody></table></div>";
}

}  // namespace

std::string load_volts(const Story& story) {
  std::vector<Row> rows = rows_of(story);
  if (rows.empty()) return "<p>No load has voltage in any situation.</p>";
  // One scale would squeeze the 12 V loads of a 100 V vehicle into a corner.
  constexpr double low_voltage_v = 32;
  const auto middle = std::stable_partition(rows.begin(), rows.end(), [](const Row& row) {
    return std::max(row.high.value, row.low.value) <= low_voltage_v;
  });
  const std::vector<Row> low(rows.begin(), middle), high(middle, rows.end());
  std::string out = "<p>The line spans lowest to highest; the brackets are what the load needs and what it stands.</p>";
  if (!low.empty()) out += table(story, low, "Loads up to 32 V");
  if (!high.empty()) out += table(story, high, "Loads above 32 V");
  return out;
}

}  // namespace loomproof::report
