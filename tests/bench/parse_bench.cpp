// How fast blocks are read, with a scanner written by hand as the yardstick. Every reader also adds up what
// it read; a reader that gets another sum than the text's own is an error and not a figure.
#include "grammar/parse.hpp"
#include "text/input.hpp"

#include <fmt/format.h>

#include <benchmark/benchmark.h>
#include <cstdint>
#include <cstdlib>
#include <string>
#include <string_view>
#include <vector>

using namespace restep;

namespace {

struct Sample {
  std::string text;
  std::vector<std::string_view> lines;
  std::uint64_t sum = 0;
};

std::uint64_t mixed(std::uint64_t sum, char letter, std::int64_t scaled) {
  return sum * 31 + static_cast<std::uint64_t>(letter) + static_cast<std::uint64_t>(scaled);
}

// A finishing pass as posted: three axes, three decimals, now and then a feed; the sum is made from the very
// integers that are printed.
Sample const& sample() {
  static Sample const made = [] {
    Sample s;
    std::uint64_t state = 12345;
    auto const random = [&](std::int64_t range) {
      state = state * 6364136223846793005u + 1442695040888963407u;
      return static_cast<std::int64_t>((state >> 33) % static_cast<std::uint64_t>(range));
    };
    std::vector<std::size_t> ends;
    auto const word = [&](char letter, std::int64_t thousandths) {
      s.sum = mixed(s.sum, letter, thousandths * 1'000'000);
      std::int64_t const size = std::abs(thousandths);
      s.text += fmt::format("{}{}{}.{:03}", letter, thousandths < 0 ? "-" : "", size / 1000, size % 1000);
    };
    for (int i = 0; i < 200'000; ++i) {
      word('X', random(200'000) - 100'000);
      s.text += ' ';
      word('Y', random(200'000) - 100'000);
      s.text += ' ';
      word('Z', random(20'000) - 20'000);
      if (i % 16 == 0) {
        s.text += ' ';
        word('F', 100'000 + random(900'000));
      }
      ends.push_back(s.text.size());
      s.text += '\n';
    }
    std::size_t begin = 0;
    for (std::size_t const end : ends) {
      s.lines.push_back(std::string_view(s.text).substr(begin, end - begin));
      begin = end + 1;
    }
    return s;
  }();
  return made;
}

struct Scanned {
  char letter;
  std::int64_t scaled;
  std::uint32_t begin;
  std::uint32_t end;
};

// The yardstick: no grammar, no refusals beyond what keeps it inside the line.
bool scan_by_hand(std::string_view line, Scanned* words, std::size_t& size) {
  static constexpr std::int64_t powers[10] = {1000000000, 100000000, 10000000, 1000000, 100000,
                                              10000,      1000,      100,      10,      1};
  char const* at = line.data();
  char const* const begin = at;
  char const* const end = at + line.size();
  size = 0;
  while (at != end) {
    if (*at == ' ') {
      ++at;
      continue;
    }
    char const* const start = at;
    char const letter = *at++;
    bool negative = false;
    if (at != end && *at == '-') {
      negative = true;
      ++at;
    }
    std::int64_t value = 0;
    int decimals = 0;
    while (at != end && *at >= '0' && *at <= '9')
      value = value * 10 + (*at++ - '0');
    if (at != end && *at == '.') {
      ++at;
      while (at != end && *at >= '0' && *at <= '9') {
        value = value * 10 + (*at++ - '0');
        ++decimals;
      }
    }
    if (decimals > 9 || size == 64) return false;
    value *= powers[decimals];
    words[size++] = {letter, negative ? -value : value, static_cast<std::uint32_t>(start - begin),
                     static_cast<std::uint32_t>(at - begin)};
  }
  return true;
}

template <typename ReadAll>
void run(benchmark::State& state, ReadAll read_all) {
  Sample const& s = sample();
  for (auto _ : state) {
    std::uint64_t const sum = read_all(s);
    if (sum != s.sum) {
      state.SkipWithError("the words read are not the words written");
      return;
    }
    benchmark::DoNotOptimize(sum);
  }
  state.SetBytesProcessed(static_cast<std::int64_t>(state.iterations()) *
                          static_cast<std::int64_t>(s.text.size()));
}

void by_hand(benchmark::State& state) {
  std::vector<Scanned> words(64);
  run(state, [&](Sample const& s) {
    std::uint64_t sum = 0;
    for (std::string_view const line : s.lines) {
      std::size_t size = 0;
      if (!scan_by_hand(line, words.data(), size)) return std::uint64_t{0};
      for (std::size_t i = 0; i < size; ++i)
        sum = mixed(sum, words[i].letter, words[i].scaled);
    }
    return sum;
  });
}
BENCHMARK(by_hand);

void plain(benchmark::State& state) {
  grammar::WordBlock block;
  run(state, [&](Sample const& s) {
    std::uint64_t sum = 0;
    for (std::string_view const line : s.lines) {
      if (!grammar::parse_plain(line, block)) return std::uint64_t{0};
      for (grammar::Word const& word : block)
        sum = mixed(sum, word.letter, word.value.scaled);
    }
    return sum;
  });
}
BENCHMARK(plain);

void full(benchmark::State& state) {
  run(state, [](Sample const& s) {
    std::uint64_t sum = 0;
    for (std::string_view const line : s.lines) {
      auto const block = grammar::parse_block(line);
      if (!block) return std::uint64_t{0};
      for (grammar::ast::Item const& item : block->items) {
        auto const* const word = boost::get<grammar::ast::Word>(&item.get());
        if (word == nullptr) return std::uint64_t{0};
        auto const* const number = boost::get<grammar::ast::Number>(&word->value.get());
        if (number == nullptr) return std::uint64_t{0};
        sum = mixed(sum, word->letter, number->decimal.scaled);
      }
    }
    return sum;
  });
}
BENCHMARK(full);

void lines(benchmark::State& state) {
  Sample const& s = sample();
  for (auto _ : state) {
    text::Input input = text::Input::from_memory(s.text);
    text::LineReader reader(input);
    std::size_t count = 0;
    for (text::Line line; reader.next(line);)
      count += line.text.size() + 1;
    if (count != s.text.size()) {
      state.SkipWithError("the lines read are not the lines written");
      return;
    }
  }
  state.SetBytesProcessed(static_cast<std::int64_t>(state.iterations()) *
                          static_cast<std::int64_t>(s.text.size()));
}
BENCHMARK(lines);

} // namespace

BENCHMARK_MAIN();
