// Programs that no post-processor makes: bounded time and memory, and a clear refusal.

#include "tests/command/run_program.hpp"
#include "tests/robustness/started.hpp"

#include <catch2/catch.hpp>

#include <filesystem>
#include <functional>
#include <random>
#include <string>
#include <vector>

using namespace restep::command;
using namespace restep::robustness;

namespace {

struct Hostile {
  std::string name;
  /// Made only when it is wanted and let go before the run, whose peak memory would else count it.
  std::function<std::string()> text;
  bool refused = true;   ///< false: it may also be understood
  double bytes_each = 4; ///< of memory that a byte of the program may take
};

std::string lines(std::string const& line, int count) {
  std::string all;
  for (int i = 0; i < count; ++i)
    all += line;
  return all;
}

std::string noise() {
  std::mt19937 random(256);
  std::string text;
  for (int i = 0; i < 300'000; ++i)
    text += static_cast<char>(random() % 256);
  return text;
}

std::string every_byte() {
  std::string text;
  for (int i = 0; i < 256; ++i)
    text += static_cast<char>(i);
  return text;
}

std::string const head = "G21 G90 G17\nG0 X0 Y0 Z5\n";
std::string const end = "M30\n";

/// A program that consists of these blocks.
std::function<std::string()> blocks(std::function<std::string()> const& middle) {
  return [middle] { return head + middle() + "\n" + end; };
}
std::function<std::string()> blocks(std::string const& middle) {
  return [middle] { return head + middle + "\n" + end; };
}

std::vector<Hostile> const hostile_programs{
    {"deep brackets",
     blocks([] { return "G1 X" + std::string(200'000, '[') + "1" + std::string(200'000, ']') + " F9"; })},
    {"brackets that never close", blocks([] { return "G1 X" + std::string(200'000, '['); })},
    {"a chain of half a million signs", blocks([] { return "#1=[" + lines("1+", 500'000) + "1]\nG1 X1 F9"; }),
     false, 80},
    {"a million digits", blocks([] { return "G1 X1." + std::string(1'000'000, '3') + " F9"; }), false},
    {"a million leading zeros", blocks([] { return "G1 X" + std::string(1'000'000, '0') + "1 F9"; }), false},
    {"a billion holes", blocks("G91 G81 X1 Z-1 R-1 F60 L1000000000\nG80")},
    {"a billion calls",
     [] { return "O1\nG21 G90\nG0 X0\nM98 P2 L1000000000\nM30\nO2\nG91 G0 X0.001\nM99\n"; }},
    {"a loop without end", blocks("N10 #1=[#1+1]\nGOTO 10")},
    {"a while without end", blocks("WHILE [1 EQ 1] DO1\nG91 G0 X0.001\nEND1")},
    {"a call of itself", [] { return "O1\nG21 G90\nM98 P1\nM30\n"; }},
    {"an arc of a thousand kilometres", blocks("G2 X1 Y1 I1000000000000 J0 F9")},
    {"an arc of nothing", blocks("G2 X0 Y0 I0.000000000001 J0 F9"), false},
    {"coordinates beyond all machines", blocks([] { return "G1 X1" + std::string(300, '0') + " F9"; })},
    {"a peck of nothing", blocks("G83 X1 Y1 Z-9 R1 Q0.0000000001 F60\nG80")},
    {"a peck of a picometre", blocks("G83 X1 Y1 Z-9 R1 Q0.000000001 F60\nG80")},
    {"a million words in a block", blocks([] { return "G1 " + lines("X1", 1'000'000) + " F9"; })},
    {"parameters of parameters", blocks([] { return lines("#[#[#[#[1]]]]=2\n", 200'000); }), false},
    {"a remark of forty megabytes", blocks([] { return "(" + std::string(40'000'000, 'x') + ")"; }), false},
    {"noise", noise},
    {"every byte in a remark", blocks([] { return "(" + every_byte() + ")"; }), false},
    {"only line ends", [] { return std::string(3'000'000, '\n'); }, false},
    {"only percent signs", [] { return lines("%\n", 500'000); }, false},
};

} // namespace

TEST_CASE("a hostile program is answered in bounded time and memory", "[hostile]") {
  for (Hostile const& hostile : hostile_programs) {
    Folder const folder;
    std::string const program = folder.write("hostile.nc", hostile.text());
    double const megabytes = static_cast<double>(std::filesystem::file_size(program)) / 1e6;
    Started::Limits limits;
    limits.cpu_seconds = 60;
    limits.error_file = folder.path("errors");
    Started run({"rewrite", program, "--machine", "bench-mill", "-o", folder.path("out.nc")}, limits);
    Ending const ending = run.wait();
    INFO(hostile.name << ": status " << ending.status << ", signal " << ending.signal << ", "
                      << ending.cpu_seconds << " s, " << ending.peak_megabytes << " MB\n"
                      << content_of(folder.path("errors")).substr(0, 600));
    CHECK(ending.signal == 0);
    if (hostile.refused) {
      CHECK(ending.status == 1);
    } else {
      bool const answered = ending.status == 0 || ending.status == 1;
      CHECK(answered);
    }
    CHECK(folder.has("out.nc") == (ending.status == 0));
    CHECK(ending.peak_megabytes < 64 + hostile.bytes_each * megabytes);
    if (ending.status == 1) CHECK(content_of(folder.path("errors")).find("hostile.nc:") != std::string::npos);
  }
}
