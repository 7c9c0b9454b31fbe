// A stock list is read as strictly as a loom: every value with its unit, every fault in one go.
#include "read/read_stock.h"

#include <algorithm>
#include <charconv>

#include <fmt/core.h>

#include "read/expect.h"
#include "read/faults.h"
#include "read/sections.h"
#include "read/text_check.h"
#include "read/tree.h"
#include "units/quote.h"

namespace loomproof {
namespace {

// A shop has not more values of one thing than this.
constexpr std::size_t most_values = 200;

std::optional<double> read_price(View node, Faults& faults) {
  const auto text = expect_text(node, "a price, a plain number in your own currency", faults);
  if (!text) return std::nullopt;
  double price = 0;
  const auto [end, error] = std::from_chars(text->data(), text->data() + text->size(), price);
  if (error == std::errc{} && end == text->data() + text->size() && price >= 0 && price < 1e9) return price;
  faults.add(node.at(), fmt::format("{} is no price", quoted(*text)), "write a plain number such as 1.20");
  return std::nullopt;
}

std::vector<StockValue> read_values(View node, Dimension dimension, Faults& faults) {
  std::vector<StockValue> out;
  if (!node.is_list()) {
    faults.add(node.at(), fmt::format("expected a list of values, each {}", "with its unit"));
    return out;
  }
  for (const View item : node.items()) {
    const auto read = read_quantity(item, dimension, faults);
    if (!read) continue;
    if (!(read->value > 0)) {
      faults.add(item.at(), fmt::format("{} is not above zero", quoted(read->written)));
    } else if (!out.empty() && read->value <= out.back().amount) {
      faults.add(item.at(), "the values do not rise", "write the smallest first");
    } else if (out.size() >= most_values) {
      faults.add(item.at(), fmt::format("more than {} values", most_values));
      break;
    } else {
      out.push_back({read->written, read->value, std::nullopt});
    }
  }
  if (out.empty() && faults.empty()) faults.add(node.at(), "an empty list");
  return out;
}

// `prices: [0.3, 0.5]` beside the values, or one `price: 0.5` for all.
void read_prices(View row, std::vector<StockValue>& values, Faults& faults) {
  if (const auto one = row.find("price")) {
    if (const auto price = read_price(*one, faults)) {
      for (StockValue& value : values) value.price = price;
    }
  }
  const auto list = row.find("prices");
  if (!list) return;
  std::size_t count = 0;
  for (const View item : list->items()) {
    const auto price = read_price(item, faults);
    if (count < values.size()) values[count].price = price;
    ++count;
  }
  if (count != values.size()) {
    faults.add(list->at(), fmt::format("{} prices for {} values", count, values.size()), "write one for each");
  }
}

std::optional<double> read_amount(View row, std::string_view key, Dimension dimension, Faults& faults) {
  const auto node = row.find(key);
  if (!node) return std::nullopt;
  const auto read = read_quantity(*node, dimension, faults);
  return read ? std::optional(read->value) : std::nullopt;
}

std::string read_word(View row, std::string_view key, Faults& faults) {
  const auto node = row.find(key);
  if (!node) return {};
  return std::string(expect_text(*node, "a word", faults).value_or(""));
}

void check_keys(View row, std::string_view where, const std::vector<std::string_view>& known, Faults& faults) {
  for (const Entry e : row.entries()) {
    if (std::find(known.begin(), known.end(), e.key.text()) == known.end()) unknown_key(e.key, where, known, faults);
  }
}

template <class Add>
void read_rows(View section, std::string_view what, std::string_view values, Faults& faults, Add add) {
  if (!section.is_list()) {
    faults.add(section.at(), fmt::format("expected a list of rows, each {}", what));
    return;
  }
  for (const View row : section.items()) {
    if (!expect_map(row, what, faults)) continue;
    if (!row.find(values)) {
      faults.add(row.at(), fmt::format("a row without {}", quoted(values)));
      continue;
    }
    add(row);
  }
}

void read_all(View root, Stock& stock, Faults& faults) {
  check_keys(root, "a stock list", {"stock", "cables", "fuses", "contacts", "resistors"}, faults);
  const auto format = root.find("stock");
  if (!format || !format->is_text() || format->text() != "1") {
    faults.add(format ? format->at() : Place{1, 1}, "the file does not say that it is a stock list",
               "start it with 'stock: 1'");
  }
  if (const auto cables = root.find("cables")) {
    stock.cables.clear();
    read_rows(*cables, "such as {insulation: pvc-105, sizes: [1 mm2, 2.5 mm2]}", "sizes", faults, [&](View row) {
      check_keys(row, "a row of cables", {"insulation", "volts", "sizes", "price", "prices"}, faults);
      CableRow cable{read_word(row, "insulation", faults), read_amount(row, "volts", Dimension::voltage, faults),
                     read_values(*row.find("sizes"), Dimension::area, faults)};
      read_prices(row, cable.sizes, faults);
      stock.cables.push_back(std::move(cable));
    });
  }
  if (const auto fuses = root.find("fuses")) {
    stock.fuses.clear();
    read_rows(*fuses, "such as {curve: blade, volts: 32 V, rated: [5 A, 10 A]}", "rated", faults, [&](View row) {
      check_keys(row, "a row of fuses", {"curve", "volts", "breaks", "rated", "price", "prices"}, faults);
      FuseRow fuse{read_word(row, "curve", faults), read_amount(row, "volts", Dimension::voltage, faults),
                   read_amount(row, "breaks", Dimension::current, faults),
                   read_values(*row.find("rated"), Dimension::current, faults)};
      read_prices(row, fuse.rated, faults);
      stock.fuses.push_back(std::move(fuse));
    });
  }
  if (const auto contacts = root.find("contacts")) stock.contacts = read_values(*contacts, Dimension::current, faults);
  if (const auto resistors = root.find("resistors")) {
    if (!expect_map(*resistors, "lists such as {ohms: [47 ohm], watts: [50 W], pulse: [200 J]}", faults)) return;
    check_keys(*resistors, "the resistors", {"ohms", "watts", "pulse"}, faults);
    if (const auto list = resistors->find("ohms")) stock.ohms = read_values(*list, Dimension::resistance, faults);
    if (const auto list = resistors->find("watts")) stock.watts = read_values(*list, Dimension::power, faults);
    if (const auto list = resistors->find("pulse")) stock.pulses = read_values(*list, Dimension::energy, faults);
  }
}

}  // namespace

StockResult read_stock(std::string_view text, const ReadBounds& bounds) {
  StockResult result;
  Faults faults;
  Stock stock = usual_stock();
  if (const auto tree = parse_tree(text, bounds, faults)) {
    if (tree->root().is_map()) {
      read_all(tree->root(), stock, faults);
    } else {
      faults.add(tree->root().at(), "a stock list is a map of lists", "start it with 'stock: 1'");
    }
  }
  if (faults.empty()) result.stock = std::move(stock);
  std::string_view rest = without_mark(text);
  while (!rest.empty() && text.size() <= bounds.bytes) {
    const std::size_t end = rest.find('\n');
    result.lines.emplace_back(rest.substr(0, end));
    if (end == std::string_view::npos) break;
    rest.remove_prefix(end + 1);
  }
  result.faults = std::move(faults).sorted(bounds.faults);
  return result;
}

}  // namespace loomproof
