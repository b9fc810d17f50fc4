// SPDX-License-Identifier: GPL-3.0-or-later
// A secret typed at a terminal: asked for, never shown, and the terminal as it was afterwards. A terminal of the test's own stands for the
// person's.
#include <gtest/gtest.h>

#include <QTemporaryDir>

#include <poll.h>
#include <pty.h>
#include <sys/wait.h>
#include <termios.h>
#include <unistd.h>

#include <string>
#include <vector>

namespace mk::cli {
namespace {

struct Typed {
    int status = -1;
    std::string seen;      ///< all that stood on the terminal
    std::size_t asked = 0; ///< how many of the answers were asked for
    bool echoes = false;   ///< does the terminal show again what is typed, once the program has ended?
};

class TerminalSecret : public ::testing::Test {
protected:
    /// answers  each typed when a prompt stands there, with the key that ends it
    Typed run(std::vector<std::string> words, const std::vector<std::string>& answers)
    {
        words.insert(words.begin(), { MK_CLI, "--registry", m_folder.filePath(QStringLiteral("w.mkr")).toStdString() });
        std::vector<char*> arguments;
        for (auto& word : words)
            arguments.push_back(word.data());
        arguments.push_back(nullptr);
        int terminal = -1;
        const pid_t program = ::forkpty(&terminal, nullptr, nullptr, nullptr);
        if (program == 0) {
            ::execv(arguments[0], arguments.data());
            ::_exit(127);
        }
        EXPECT_GT(program, 0);
        Typed typed;
        std::size_t answered = 0; // how much had been seen when the last answer was typed
        for (;;) {
            pollfd waiting { terminal, POLLIN, 0 };
            if (::poll(&waiting, 1, 20'000) != 1)
                break;
            char bytes[512];
            const auto got = ::read(terminal, bytes, sizeof bytes);
            if (got <= 0) // the program has closed it
                break;
            typed.seen.append(bytes, static_cast<std::size_t>(got));
            if (typed.asked < answers.size() && typed.seen.size() > answered && typed.seen.ends_with(": ")) {
                answered = typed.seen.size();
                const auto& answer = answers[typed.asked++];
                EXPECT_EQ(::write(terminal, answer.data(), answer.size()), static_cast<ssize_t>(answer.size()));
            }
        }
        termios now {};
        typed.echoes = ::tcgetattr(terminal, &now) == 0 && (now.c_lflag & static_cast<tcflag_t>(ECHO)) != 0
            && (now.c_lflag & static_cast<tcflag_t>(ISIG)) != 0;
        int status = 0;
        EXPECT_EQ(::waitpid(program, &status, 0), program);
        typed.status = WIFEXITED(status) ? WEXITSTATUS(status) : -1;
        ::close(terminal);
        return typed;
    }
    void SetUp() override
    {
        ASSERT_EQ(run({ "init", "--zone", "Europe/Berlin" }, {}).status, 0);
        ASSERT_EQ(run({ "--operator", "rook", "act", "operator", "--id", "rook", "--role", "coordinator" }, {}).status, 0);
    }

    QTemporaryDir m_folder;
};

} // namespace

TEST_F(TerminalSecret, IsAskedForTwiceAndNeverShown)
{
    const Typed set = run({ "--operator", "rook", "secret", "set" }, { "Grey-heron-54\r", "Grey-heron-54\r" });
    EXPECT_EQ(set.status, 0) << set.seen;
    EXPECT_EQ(set.asked, 2U) << set.seen;
    EXPECT_EQ(set.seen.find("heron"), std::string::npos) << set.seen;
    EXPECT_TRUE(set.echoes) << "the person goes on working at it";

    const Typed wrong = run({ "--operator", "rook", "act", "ward", "--ward", "W5" }, { "Grey-heron-55\r" });
    EXPECT_NE(wrong.status, 0) << wrong.seen;
    EXPECT_EQ(wrong.asked, 1U);
    const Typed right = run({ "--operator", "rook", "act", "ward", "--ward", "W5" }, { "Grey-heron-54\r" });
    EXPECT_EQ(right.status, 0) << right.seen;
    EXPECT_EQ(right.seen.find("heron"), std::string::npos) << right.seen;
}

TEST_F(TerminalSecret, IsCorrectedWhileItIsTyped)
{
    // A rubbed-out letter of two bytes, and a line that was begun anew.
    const Typed set = run({ "--operator", "rook", "secret", "set" }, { "Grey-heröx\x7f\x7fon-54\r", "nonsense\x15Grey-heron-54\r" });
    EXPECT_EQ(set.status, 0) << set.seen;
    EXPECT_EQ(run({ "--operator", "rook", "act", "ward", "--ward", "W5" }, { "Grey-heron-54\r" }).status, 0);
}

TEST_F(TerminalSecret, OfTwoThatDifferSetsNone)
{
    const Typed set = run({ "--operator", "rook", "secret", "set" }, { "Grey-heron-54\r", "Grey-heron-45\r" });
    EXPECT_EQ(set.status, 2) << set.seen;
    EXPECT_NE(set.seen.find("nothing was done"), std::string::npos) << set.seen;
    EXPECT_EQ(run({ "--operator", "rook", "act", "ward", "--ward", "W5" }, {}).status, 0) << "nobody has a secret, and nobody is asked";
}

TEST_F(TerminalSecret, ThatIsBrokenOffLeavesTheTerminalAsItWas)
{
    const Typed set = run({ "--operator", "rook", "secret", "set" }, { "Grey-her\x03" });
    EXPECT_EQ(set.status, 2) << set.seen;
    EXPECT_TRUE(set.echoes);
    EXPECT_EQ(set.seen.find("her\r"), std::string::npos) << set.seen;
    EXPECT_EQ(run({ "--operator", "rook", "act", "ward", "--ward", "W5" }, {}).status, 0);
}

} // namespace mk::cli
