"""From noisy runs to an honest answer: cleaning, comparison, restriction, planning figures."""
