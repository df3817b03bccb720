"""What the cards are made of, one a file: each is given frozen rows and says what happened in the past tense."""
