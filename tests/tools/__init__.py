"""The schemas, tried with the validators and code generators that programs in other languages use."""
